import { curedByCut } from '../../../judge/cured-by-cut.ts';
import type { Judgement } from '../../../judge/judgement.ts';
import type { Submission } from '../../../ledger/port.ts';
import type { Button } from '../../../platforms/port.ts';
import { rules } from '../../../rules/index.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';

const longestId = 100; // of a button, on every platform

/** Rules that a coach's wish for another view may overrule. */
const viewRules = new Set(rules.filter(({ id, notFor }) => id === 'view' || (notFor?.length ?? 0) > 0).map(({ id }) => id));

/** Whether the member may say that a coach asked for the view. */
export function mayBeAsked({ findings }: Judgement): boolean {
  return findings.some(({ rule, severity }) => severity === 'fix' && viewRules.has(rule));
}

/** What a member can do about a clip that was sent back; none for any other. */
export function replyButtons(
  s: Pick<Submission, 'id'>,
  judgement: Judgement,
  deps: Pick<BotDeps, 'language' | 'settings'>,
): Button[] {
  if (judgement.verdict !== 'fix') return [];
  const { buttons } = languageOf(deps.language).member;
  const { appealsPerWeek, askedViewsPerWeek } = deps.settings();
  const cut: Button = {
    id: `use-cut:${s.id}`,
    label: judgement.trim === null ? buttons.useUpright : buttons.useTrimmed,
    style: 'good',
  };
  const asked: Button = { id: `asked-view:${s.id}`, label: buttons.askedView, style: 'plain' };
  const appeal: Button = { id: `appeal:${s.id}`, label: buttons.appeal, style: 'plain' };
  return [
    ...(curedByCut(judgement) ? [cut] : []),
    ...(askedViewsPerWeek > 0 && mayBeAsked(judgement) ? [asked] : []),
    ...(appealsPerWeek > 0 ? [appeal] : []),
  ].filter(({ id }) => id.length <= longestId);
}

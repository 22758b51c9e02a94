import type { Judgement } from '../judge/judgement.ts';
import type { Finding } from '../rules/finding.ts';
import { rules } from '../rules/index.ts';
import { languageOf } from './index.ts';

type Judged = Pick<Judgement, 'findings' | 'cannotTell'>;

/** Numbers that tell how far a finding is from right, by message: 0 is right. */
const distances: Readonly<Record<string, (numbers: Finding['numbers']) => number>> = {
  'view/outside-accepted': (n) => Number(n.moveDeg),
  'view/not-requested': (n) => Number(n.moveDeg),
  'parts-in-frame/part-lost': (n) => Number(n.outsidePercent),
  'parts-in-frame/parts-lost': (n) => Number(n.outsidePercent),
  'parts-in-frame/part-outside': (n) => Number(n.outsidePercent),
  'obstruction/across-bottom': (n) => Number(n.percent),
  'obstruction/over-lifter': (n) => Number(n.percent),
  'steadiness/moving': (n) => Number(n.percentPerS),
  'distance/too-far': (n) => Number(n.distanceM) - Number(n.maxM),
  'lifter-size/too-small': (n) => Number(n.minPercent) - Number(n.heightPercent),
  'dead-time/lead-in': (n) => Number(n.leadInS),
  'dead-time/tail': (n) => Number(n.tailS),
  'dead-time/both-ends': (n) => Number(n.leadInS) + Number(n.tailS),
};
/** What is left of a correction that is said to be nearer to done, share of what it was. Chosen: a smaller step may be chance. */
const nearerShare = 0.75;

function isNearer(before: Finding, after: Finding): boolean {
  const key = `${after.rule}/${after.message}`;
  const isAlike = before.message === after.message || after.rule === 'dead-time';
  const [was, is] = [distances[`${before.rule}/${before.message}`]?.(before.numbers), distances[key]?.(after.numbers)];
  return isAlike && was !== undefined && is !== undefined && was > 0 && is <= nearerShare * was;
}

/** Whether a rule was silent about a take because another one said the same. */
const isQuiet = (rule: string, { findings }: Judged) =>
  findings.some((finding) => rules.find(({ id }) => id === rule)?.quietAfter?.includes(finding.rule));

/**
 * How a new take compares with the last one: which asked-for corrections are done, better, left (and nearer to done), new, or could not be
 * told this time. Only corrections count, not advice. Empty when the last take had none to make and this one has none either.
 */
export function wordProgress(before: Judged, after: Judged, language: string): { text: string } {
  const words = languageOf(language);
  const toFix = ({ findings }: Judged) => findings.filter(({ severity }) => severity === 'fix');
  const was = toFix(before);
  const now = (rule: string) => after.findings.find((finding) => finding.rule === rule);
  const isUnknown = (rule: string) => after.cannotTell.some((unknown) => unknown.rule === rule);
  const standing = was.map((finding) => {
    const next = now(finding.rule);
    if (next?.severity === 'fix') return { finding, is: isNearer(finding, next) ? ('nearer' as const) : ('left' as const) };
    if (next !== undefined) return { finding, is: 'better' as const };
    if (isUnknown(finding.rule)) return { finding, is: 'unknown' as const };
    return { finding, is: isQuiet(finding.rule, after) ? ('quiet' as const) : ('fixed' as const) };
  });
  const names = (which: readonly (typeof standing)[number]['is'][]) =>
    standing
      .filter(({ is }) => which.includes(is))
      .map(({ finding, is }) => {
        const name = words.ruleNames[finding.rule] ?? finding.rule;
        return is === 'nearer' ? words.progress.nearer(name) : name;
      });
  const fresh = toFix(after)
    .filter(({ rule }) => !was.some((finding) => finding.rule === rule))
    .map(({ rule }) => words.ruleNames[rule] ?? rule);
  const { progress } = words;
  const said = (list: string[], word: (items: string[]) => string) => (list.length > 0 ? [word(list)] : []);
  const isAllFixed = was.length > 0 && standing.every(({ is }) => is === 'fixed') && fresh.length === 0;
  return {
    text: [
      ...said(names(['fixed']), progress.fixed),
      ...said(names(['better']), progress.better),
      ...said(names(['nearer', 'left']), progress.left),
      ...said(fresh, progress.fresh),
      ...said(names(['unknown']), progress.unknown),
      ...(isAllFixed ? [progress.allFixed] : []),
    ].join('\n'),
  };
}

/** What a clip's progress message says. `ahead`: clips before this one, null when unknown; `share`: how much is measured, 0..1, null before. */
export function wordWaiting(state: { ahead: number | null; share: number | null }, language: string): string {
  const percent = state.share === null ? null : Math.min(99, Math.round(state.share * 20) * 5);
  return languageOf(language).chat.waiting({ ahead: state.ahead, percent });
}

/** The sentence to a link to a video site. */
export function wordUploadInstead(language: string): string {
  return languageOf(language).chat.uploadInstead;
}

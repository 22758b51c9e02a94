import type { Judgement } from '../../../judge/judgement.ts';
import type { Form } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import { quoted } from '../../quoted.ts';
import { privately, type UseCase } from '../use-case.ts';
import { isUsedUp, passOn, sentBackClip } from './own-clip.ts';

const longestReason = 500; // chosen: a few sentences; below any platform's limit of a field
const all = 'all';

const rulesOf = ({ findings }: Judgement) => [...new Set(findings.filter((f) => f.severity === 'fix').map((f) => f.rule))];

function formOf(id: string, judgement: Judgement, language: string): Form {
  const { member, ruleNames } = languageOf(language);
  const { appealForm } = member;
  const rules = rulesOf(judgement);
  const options = rules.map((rule) => ({ value: rule, label: ruleNames[rule] ?? rule }));
  const which = {
    ...{ id: 'rule', label: appealForm.which, required: true, hint: '' },
    ...{ kind: 'choice' as const, options: [...options, { value: all, label: appealForm.all }].slice(0, 25) },
  };
  const why = {
    ...{ id: 'reason', label: appealForm.why, required: true, hint: appealForm.hint },
    ...{ kind: 'text' as const, lines: 'many' as const, maxLength: longestReason },
  };
  return { id, title: appealForm.title, fields: rules.length > 1 ? [which, why] : [why] };
}

/** The member sends a clip on that was sent back, with a reason; so often a week. */
export const appeal: UseCase = {
  id: 'appeal',
  who: 'anyone',
  async run(ask) {
    const { action, deps } = ask;
    const { passing } = languageOf(deps.language).member;
    const found = await sentBackClip(ask);
    if ('kind' in found) return found;
    const { s, judgement } = found;
    const most = deps.settings().appealsPerWeek;
    const limit = { most, usedUp: passing.appealsUsedUp(most) };
    if (await isUsedUp(ask, 'appeal', limit)) return privately(limit.usedUp);
    if (action.kind !== 'form') return { kind: 'form', form: formOf(action.id, judgement, deps.language) };
    const reason = quoted(action.values.reason ?? '', longestReason);
    if (reason === '') return privately(passing.noReason);
    const rules = rulesOf(judgement);
    const rule = rules.length === 1 ? rules[0]! : (rules.find((one) => one === action.values.rule) ?? null);
    return passOn(ask, s, { kind: 'appeal', rule, reason, limit });
  },
};

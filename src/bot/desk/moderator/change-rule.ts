import { parse } from 'yaml';
import { lifts } from '../../../lifts/index.ts';
import { changedText, type RuleChange } from '../../../moderation/rule-change.ts';
import type { Form } from '../../../platforms/port.ts';
import type { Rule } from '../../../rules/define.ts';
import { Severity } from '../../../rules/finding.ts';
import { rules } from '../../../rules/index.ts';
import { SettingsError } from '../../../settings/settings-error.ts';
import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { propose, wordsFor } from './propose.ts';

const all = 'all';

function formOf(id: string, rule: Rule, language: string): Form {
  const { moderator, lifts: liftNames } = languageOf(language);
  const { changeForm: words, severities, allLifts } = moderator;
  const scopes = [{ value: all, label: allLifts }, ...lifts.map((lift) => ({ value: lift.id, label: liftNames[lift.id] }))];
  const kinds = Severity.options.map((value) => ({ value, label: severities[value] }));
  const names = Object.keys(rule.options.shape).map((name) => ({ value: name, label: name }));
  return {
    id,
    title: words.title(rule.id),
    fields: [
      { id: 'lift', label: words.lift, hint: '', required: true, kind: 'choice', options: scopes },
      { id: 'severity', label: words.severity, hint: '', required: false, kind: 'choice', options: kinds },
      ...(names.length === 0
        ? []
        : ([
            { id: 'option', label: words.option, hint: words.optionHint, required: false, kind: 'choice', options: names },
            {
              id: 'value',
              label: words.value,
              hint: words.valueHint,
              required: false,
              kind: 'text',
              lines: 'one',
              maxLength: 1000,
            },
          ] as const)),
    ],
  };
}

/** A value as it stands in a rules file; undefined for nothing. Throws SettingsError for what is no YAML. */
function typedValue(typed: string, path: string): unknown {
  if (typed.trim() === '') return undefined;
  try {
    return parse(typed);
  } catch (cause) {
    throw new SettingsError('rules', [{ path, problem: 'this is no value', fix: 'Write it as in the rules file' }], { cause });
  }
}

/** Proposes what a rule does, or one of its options, for a lift or all. */
export const changeRule: UseCase = {
  id: 'rule-change',
  who: 'moderator',
  async run(ask) {
    const { action, args, deps } = ask;
    const words = wordsFor(ask);
    const rule = rules.find(({ id }) => id === args[0]);
    if (rule === undefined) return privately(words.unknownRule);
    if (action.kind !== 'form') return { kind: 'form', form: formOf(action.id, rule, deps.language) };
    const { lift: scope, severity, option, value = '' } = action.values;
    const lift = lifts.find(({ id }) => id === scope)?.id ?? null;
    if (lift === null && scope !== all) return privately(words.nothingChosen);
    if (!severity && !option) return privately(words.nothingChosen);
    return propose(ask, ({ text }) => {
      const changes: RuleChange[] = [
        ...(severity ? [{ rule: rule.id, lift, setting: 'severity', value: severity }] : []),
        ...(option ? [{ rule: rule.id, lift, setting: option, value: typedValue(value, `${rule.id}.options.${option}`) }] : []),
      ];
      return changes.reduce(changedText, text);
    });
  },
};

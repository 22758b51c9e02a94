import { mergedText } from '../../../moderation/rule-change.ts';
import type { Form } from '../../../platforms/port.ts';
import { parseRules } from '../../../settings/load.ts';
import type { ModeratorWords } from '../../../wording/moderator-words.ts';
import type { UseCase } from '../use-case.ts';
import { propose, wordsFor } from './propose.ts';

const longestText = 30_000; // chat services take less: 3,000 (Slack) or 4,000 (Discord) characters

function formOf(id: string, { title, how, part, whole, text, textHint }: ModeratorWords['pasteForm']): Form {
  const ways = [
    { value: 'part', label: part },
    { value: 'whole', label: whole },
  ];
  return {
    id,
    title,
    fields: [
      { id: 'how', label: how, hint: '', required: true, kind: 'choice', options: ways },
      { id: 'text', label: text, hint: textHint, required: true, kind: 'text', lines: 'many', maxLength: longestText },
    ],
  };
}

/** Proposes rules that are pasted as YAML: some of them, or the whole file. */
export const pasteRules: UseCase = {
  id: 'rules-paste',
  who: 'moderator',
  async run(ask) {
    const { action } = ask;
    if (action.kind !== 'form') return { kind: 'form', form: formOf(action.id, wordsFor(ask).pasteForm) };
    const pasted = `${(action.values.text ?? '').trimEnd()}\n`;
    return propose(ask, ({ text }) => {
      parseRules(pasted, 'rules'); // faults are told by their place in what was pasted
      return action.values.how === 'whole' ? pasted : mergedText(text, pasted);
    });
  },
};

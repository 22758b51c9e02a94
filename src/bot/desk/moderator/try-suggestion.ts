import { lifts } from '../../../lifts/index.ts';
import { changedText } from '../../../moderation/rule-change.ts';
import { rules } from '../../../rules/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { propose, wordsFor } from './propose.ts';

/** Proposes a suggestion that was chosen. */
export const trySuggestion: UseCase = {
  id: 'rules-try',
  who: 'moderator',
  subject: ({ action }) => (action.values['rules-try'] ?? '').slice(0, 100),
  async run(ask) {
    const [rule = '', scope = '', setting = '', value = ''] = (ask.action.values['rules-try'] ?? '').split(':');
    const lift = lifts.find(({ id }) => id === scope)?.id ?? null;
    if (!rules.some(({ id }) => id === rule) || (lift === null && scope !== 'all')) return privately(wordsFor(ask).unknownRule);
    const change = { rule, lift, setting, value: setting === 'severity' ? value : Number(value) };
    return propose(ask, ({ text }) => changedText(text, change));
  },
};

import { privately, type UseCase } from '../use-case.ts';
import { propose, wordsFor } from './propose.ts';

/** Proposes an earlier version, so that it is seen what going back would do. */
export const goBack: UseCase = {
  id: 'rules-back',
  who: 'moderator',
  subject: ({ action }) => action.values['rules-back'] ?? '',
  async run(ask) {
    const chosen = Number(ask.action.values['rules-back']);
    const version = Number.isSafeInteger(chosen) ? await ask.deps.ledger.rules.version(chosen) : null;
    if (version === null) return privately(wordsFor(ask).unknownVersion);
    return propose(ask, () => version.yaml);
  },
};

import { privately, type UseCase } from '../use-case.ts';
import { openProposal, wordsFor } from './propose.ts';

/** Drops a proposed change. */
export const dropRules: UseCase = {
  id: 'rules-drop',
  who: 'moderator',
  async run(ask) {
    const { proposal: words } = wordsFor(ask);
    const found = await openProposal(ask);
    if ('kind' in found) return found;
    return privately((await ask.deps.ledger.rules.drop(found.id)) ? words.dropped : words.gone);
  },
};

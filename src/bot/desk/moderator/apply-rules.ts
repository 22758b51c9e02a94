import { parseRules } from '../../../settings/load.ts';
import { privately, type UseCase } from '../use-case.ts';
import { announcement } from './announce.ts';
import { openProposal, wordsFor } from './propose.ts';
import { reasonForm, reasonGiven } from './reason-form.ts';

/** Puts a proposed change in force, with a reason, if the rules have not changed since it was proposed. */
export const applyRules: UseCase = {
  id: 'rules-apply',
  who: 'moderator',
  async run(ask) {
    const { deps, action, person, kick } = ask;
    const words = wordsFor(ask);
    const found = await openProposal(ask);
    if ('kind' in found) return found;
    const inForce = deps.rules.inForce();
    const stale = async () => {
      const newest = await deps.ledger.rules.newest();
      return privately(words.proposal.stale(newest?.version ?? inForce.version, newest?.author ?? ''));
    };
    if (found.base !== inForce.version) return stale();
    if (action.kind !== 'form') return reasonForm(ask, words.reasonForm.applyTitle, words.reasonForm);
    const reason = reasonGiven(ask);
    if (reason === '') return privately(words.proposal.noReason);
    const tell = announcement(ask, reason, inForce.settings, parseRules(found.yaml, 'rules'));
    const author = { name: person.name, id: `${person.platform}/${person.id}`, reason };
    const end = await deps.ledger.rules.apply(found.id, author, deps.nowMs(), tell);
    if (end.kind === 'not-open') return privately(words.proposal.gone);
    if (end.kind === 'stale') return stale();
    await deps.rules.refresh();
    kick();
    return privately(words.proposal.applied(end.version));
  },
};

import { parseRules } from '../../../settings/load.ts';
import { privately, type UseCase } from '../use-case.ts';
import { announcement } from './announce.ts';
import { wordsFor } from './propose.ts';
import { reasonForm, reasonGiven } from './reason-form.ts';

/** Makes the version before the newest the newest again, with a reason; only while the one to undo is the newest. */
export const undoRules: UseCase = {
  id: 'rules-undo',
  who: 'moderator',
  async run(ask) {
    const { deps, action, args, person, kick } = ask;
    const words = wordsFor(ask);
    const [newest, before] = await deps.ledger.rules.history(2);
    if (newest === undefined || String(newest.version) !== args[0]) return privately(words.undoStale);
    if (before === undefined) return privately(words.nothingToUndo);
    if (action.kind !== 'form') return reasonForm(ask, words.reasonForm.undoTitle, words.reasonForm);
    const given = reasonGiven(ask);
    if (given === '') return privately(words.proposal.noReason);
    const reason = words.undoReason(newest.version, given);
    const tell = announcement(ask, reason, parseRules(newest.yaml, 'rules'), parseRules(before.yaml, 'rules'));
    const author = { name: person.name, id: `${person.platform}/${person.id}`, reason };
    const version = await deps.ledger.rules.add(before.yaml, newest.version, author, deps.nowMs(), tell);
    if (version === null) return privately(words.undoStale);
    await deps.rules.refresh();
    kick();
    return privately(words.undone(version));
  },
};

import { parseRules } from '../../../settings/load.ts';
import { SettingsError } from '../../../settings/settings-error.ts';
import { type Ask, privately, type UseCase } from '../use-case.ts';
import { announcement } from './announce.ts';
import { wordsFor } from './propose.ts';
import { reasonForm, reasonGiven } from './reason-form.ts';

/** What is said of a button whose change is not the newest any more: what is, and where to look. */
async function stale(ask: Ask) {
  const words = wordsFor(ask);
  const newest = await ask.deps.ledger.rules.newest();
  const history = { id: 'rules-history', label: words.buttons.history, style: 'plain' } as const;
  return privately(words.undoStale(newest?.version ?? 0, newest?.author ?? ''), { buttons: [history] });
}

/**
 * Makes the version before the newest the newest again, with a reason. A button undoes the change that it names and no other: once another
 * one was made, or this one was undone, nothing happens.
 */
export const undoRules: UseCase = {
  id: 'rules-undo',
  who: 'moderator',
  async run(ask) {
    const { deps, action, args, person, kick } = ask;
    const words = wordsFor(ask);
    const [newest, before] = await deps.ledger.rules.history(2);
    if (newest === undefined || String(newest.version) !== args[0]) return stale(ask);
    if (before === undefined) return privately(words.nothingToUndo);
    if (action.kind !== 'form') return reasonForm(ask, words.reasonForm.undoTitle, words.reasonForm);
    const given = reasonGiven(ask);
    if (given === '') return privately(words.proposal.noReason);
    const reason = words.undoReason(newest.version, given);
    const author = { name: person.name, id: `${person.platform}/${person.id}`, reason };
    let tell: ReturnType<typeof announcement>;
    try {
      tell = announcement(ask, reason, parseRules(newest.yaml, 'rules'), parseRules(before.yaml, 'rules'));
    } catch (error) {
      if (!(error instanceof SettingsError)) throw error;
      return privately(words.notUnderstood(error.problems)); // written for another version of this program
    }
    const version = await deps.ledger.rules.add(before.yaml, newest.version, author, deps.nowMs(), tell);
    if (version === null) return stale(ask);
    await deps.rules.refresh();
    kick();
    return privately(words.undone(version));
  },
};

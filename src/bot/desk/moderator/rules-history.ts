import type { RuleVersion } from '../../../ledger/port.ts';
import type { RulesSettings } from '../../../rules/settings.ts';
import { parseRules } from '../../../settings/load.ts';
import { SettingsError } from '../../../settings/settings-error.ts';
import { privately, type UseCase } from '../use-case.ts';
import { differencesSaid, wordsFor } from './propose.ts';

const shown = 8; // chosen: with four changes each they stay in one message
const mostOptions = 25; // of a choice (Discord docs, component reference)

/** The settings of a version; null when this program cannot read it any more. */
function settingsOf({ yaml, version }: RuleVersion): RulesSettings | null {
  try {
    return parseRules(yaml, `version ${version}`);
  } catch (error) {
    if (!(error instanceof SettingsError)) throw error;
    return null;
  }
}

/** Who changed the rules when, why and what; with a choice of a version to go back to. */
export const rulesHistory: UseCase = {
  id: 'rules-history',
  who: 'moderator',
  async run(ask) {
    const words = wordsFor(ask);
    const versions = await ask.deps.ledger.rules.history(mostOptions + 1);
    const lines = versions.slice(0, shown).map((one, i) => {
      const [settings, before] = [settingsOf(one), versions[i + 1] === undefined ? null : settingsOf(versions[i + 1]!)];
      const what = settings === null || before === null ? [] : differencesSaid(before, settings, ask).slice(0, 4);
      return words.history.line({ ...one, what });
    });
    const options = versions
      .slice(1, mostOptions + 1)
      .map(({ version, author, atMs }) => ({ value: String(version), label: words.history.option(version, author, atMs) }));
    const undo = { id: `rules-undo:${versions[0]?.version}`, label: words.buttons.undo, style: 'plain' } as const;
    return privately([words.history.head, ...lines].join('\n'), {
      buttons: options.length === 0 ? [] : [undo],
      choices: options.length === 0 ? [] : [{ id: 'rules-back', label: words.history.putBack, options }],
    });
  },
};

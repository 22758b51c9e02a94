import type { Ledger, RuleVersion } from '../ledger/port.ts';
import type { RulesSettings } from '../rules/settings.ts';
import { parseRules } from '../settings/load.ts';
import { SettingsError } from '../settings/settings-error.ts';
import type { BotDeps } from './deps.ts';

/** The rules in force, with the text that they were read from. One version is one object, so it can be compared by identity. */
export interface RulesInForce {
  version: number;
  text: string;
  settings: RulesSettings;
}

/** Rules that can change while the bot runs. */
export interface LiveRules {
  inForce(): RulesInForce;
  /** Puts the ledger's newest version in force; to be called when one was added. */
  refresh(): Promise<void>;
}

/** Name under which the file's text is kept as a version. */
const fileAuthor = 'config/rules.yaml';

const read = ({ version, yaml }: RuleVersion): RulesInForce => ({
  version,
  text: yaml,
  settings: parseRules(yaml, `rules, version ${version}`),
});

/**
 * The newest version in the ledger is in force, whoever made it. The file's text becomes the newest version at a start at which it is not
 * what was last read from the file, so what moderators change stays until somebody edits the file. A version that this program cannot
 * read any more gives way to the file. Throws SettingsError when the file's text cannot be read either.
 */
export async function createLiveRules(
  { rules }: Pick<Ledger, 'rules'>,
  fileText: string,
  { log, nowMs }: Pick<BotDeps, 'log' | 'nowMs'>,
): Promise<LiveRules> {
  const newest = await rules.fromFile(fileText, fileAuthor, nowMs());
  let present: RulesInForce;
  try {
    present = read(newest);
  } catch (error) {
    if (!(error instanceof SettingsError) || newest.yaml === fileText) throw error;
    log.error(
      { version: newest.version, error: error.message },
      'the rules in force cannot be read any more, the file takes over',
    );
    const why = `version ${newest.version} could not be read any more`;
    await rules.add(fileText, newest.version, { name: fileAuthor, id: null, reason: why }, nowMs());
    present = read((await rules.newest()) ?? newest);
  }
  return {
    inForce: () => present,
    async refresh() {
      const last = await rules.newest();
      if (last === null || last.version <= present.version) return;
      present = read(last);
      log.info({ version: last.version }, 'the rules have changed');
    },
  };
}

import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { effectSaid, storedClips } from '../bot/desk/moderator/stored-clips.ts';
import { readLedger } from '../ledger/open.ts';
import { threadUrlOf } from '../main/platforms.ts';
import { ledgerPlaceOf } from '../main/preflight.ts';
import type { Configuration } from '../main/project.ts';
import { language } from '../main/words.ts';
import { differences } from '../moderation/differences.ts';
import { rejudge } from '../moderation/rejudge.ts';
import { parseRules } from '../settings/load.ts';
import { languageOf } from '../wording/index.ts';

/** How the command is called. */
export const rejudgeUsage = `rejudge --rules FILE [--last N] [--json]
  --rules FILE  rules to judge stored clips by, beside those in force
  --last N      how many clips, the newest; 500 unless given
  --json        one JSON object, with the ids of the clips
Reads the ledger and changes nothing; the bot may run.
Exit code: 0 done, 1 the ledger or the rules cannot be read, 2 wrong usage.`;

/** Reads the words after the command's name. Throws an Error that says what is wrong with them. */
export function rejudgeArguments(words: string[]): { rules: string; last: number; json: boolean } {
  const text = { type: 'string' } as const;
  const { values } = parseArgs({
    args: words,
    options: { rules: text, last: { ...text, default: '500' }, json: { type: 'boolean', default: false } },
  });
  const last = Number(values.last);
  if (values.rules === undefined) throw new Error('name the rules with --rules FILE');
  if (!Number.isInteger(last) || last < 1) throw new Error(`--last is "${values.last}", and is a whole number from 1`);
  return { rules: values.rules, last, json: values.json };
}

/** What the command prints. Throws what configuration, rules and ledger throw. */
export async function rejudgeLedger(
  { rules: file, last, json }: ReturnType<typeof rejudgeArguments>,
  configuration: Configuration,
): Promise<string> {
  const proposed = parseRules(readFileSync(file, 'utf8'), file);
  const ledger = await readLedger(ledgerPlaceOf(configuration));
  try {
    const newest = await ledger.rules.newest();
    const inForce = newest === null ? configuration.rules : parseRules(newest.yaml, `rules, version ${newest.version}`);
    const stored = await storedClips(ledger, last);
    const effect = rejudge(stored.clips, inForce, proposed);
    const what = differences(inForce, proposed);
    if (json) {
      const { unreadable } = stored;
      return JSON.stringify({ version: newest?.version ?? null, differences: what, ...effect, unreadable }, null, 2);
    }
    const { moderator } = languageOf(language);
    const urlOf = threadUrlOf(configuration, null);
    const said = effectSaid(effect, stored, ({ ref }) => ({ url: urlOf(ref) }));
    const head = what.length === 0 ? moderator.sameAlready : moderator.proposal.head(newest?.version ?? 0);
    return [head, ...what.map((one) => `· ${moderator.difference(one)}`), moderator.effect(said)].join('\n').replaceAll('**', '');
  } finally {
    await ledger.close();
  }
}

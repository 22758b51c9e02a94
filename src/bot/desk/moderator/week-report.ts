import { suggestions } from '../../../moderation/suggest.ts';
import { weekOf } from '../../../moderation/week.ts';
import type { PlatformName } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';
import { privately, type UseCase } from '../use-case.ts';
import { reportedClips, storedClips } from './stored-clips.ts';

const weekMs = 7 * 24 * 3_600_000;
const { moderator } = languageOf('en');

/** The report of a platform's seven days up to a time; null when no clip was judged in them. */
export async function weekText(
  { ledger, rules, settings, language }: Pick<BotDeps, 'ledger' | 'rules' | 'settings' | 'language'>,
  platform: PlatformName,
  toMs: number,
): Promise<string | null> {
  const { handAfterTakes, correctionMin, rejudgeLast } = settings();
  const fromMs = toMs - weekMs;
  const clips = await reportedClips(ledger, { platform, fromMs, toMs });
  if (clips.length === 0) return null;
  const stored = await storedClips(ledger, rejudgeLast);
  const suggested = suggestions(stored.clips, rules.inForce().settings).length;
  const week = { ...weekOf(clips, handAfterTakes), toMs, correctionMin, suggestions: suggested };
  return languageOf(language).moderator.week(week);
}

/** The last seven days in numbers, when a moderator asks. */
export const weekReport: UseCase = {
  id: 'report',
  who: 'moderator',
  command: { name: 'report', description: moderator.commands.report, fields: [] },
  async run({ deps, person }) {
    const text = await weekText(deps, person.platform, deps.nowMs());
    return privately(text ?? languageOf(deps.language).moderator.noClips);
  },
};

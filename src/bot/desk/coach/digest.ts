import type { DeskEntry } from '../../../ledger/port.ts';
import type { PlatformName } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';
import { localTime } from '../../local-time.ts';
import { type Loop, startLoop } from '../../loop.ts';
import { plain } from '../../payload.ts';

const dayMs = 24 * 3_600_000;
const lookMs = 60_000; // chosen: the digest is at most a minute late
const lateHours = 3; // chosen: a digest that comes later than this is no news, the next one is
const mostNamed = 5; // chosen: one line on a phone or two
const mostCounted = 1000; // chosen: above a day of any desk, and a bound for the query

type Deps = Pick<BotDeps, 'ledger' | 'platforms' | 'language' | 'settings' | 'log' | 'nowMs'>;

/** How often each name occurs, the most often first. */
function counted(names: readonly string[]): [string, number][] {
  const counts = new Map<string, number>();
  for (const name of names) counts.set(name, (counts.get(name) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1] || a[0].localeCompare(b[0]));
}

/** The middle one, of two the lower: half of them are that or less; null for none. */
function median(values: readonly number[]): number | null {
  return [...values].sort((a, b) => a - b)[Math.ceil(values.length / 2) - 1] ?? null;
}

/** What the coaches of a platform are told of the last 24 hours. */
async function digestText(platform: PlatformName, { ledger, language, nowMs }: Deps): Promise<string> {
  const sinceMs = nowMs() - dayMs;
  const { coach, forCoaches } = languageOf(language);
  const waiting = await ledger.desk.list(platform, ['waiting'], mostCounted);
  const taken = await ledger.desk.list(platform, ['taken'], mostCounted);
  const ended = await ledger.desk.endedSince(platform, sinceMs);
  const done = ended.filter(({ state }) => state === 'done');
  const coachOf = ({ coachName }: DeskEntry) => coachName ?? '';
  const served = await Promise.all(done.map(async ({ submission }) => (await ledger.submission(submission))?.authorName ?? ''));
  // A clip that is sent back at once is looked at without being taken.
  const waits = [...taken, ...ended].flatMap(({ createdMs, takenMs, endedMs }) => {
    const lookedAtMs = takenMs ?? endedMs ?? 0;
    return lookedAtMs >= sinceMs ? [lookedAtMs - createdMs] : [];
  });
  const corrections = await ledger.desk.correctionsSince(platform, sinceMs);
  const byCoach = (entries: readonly DeskEntry[]) =>
    counted(entries.map(coachOf)).map(([name, clips]) => ({ coach: name, clips }));
  return coach.digest({
    waiting: waiting.length,
    longestMs: waiting[0] === undefined ? null : nowMs() - waiting[0].createdMs,
    taken: byCoach(taken),
    medianWaitMs: median(waits),
    done: byCoach(done),
    served: counted(served).map(([member, clips]) => ({ member, clips })),
    unusable: ended.length - done.length,
    corrections: corrections.slice(0, mostNamed).map(({ rule, clips }) => ({ what: forCoaches.ruleNames[rule] ?? rule, clips })),
  });
}

/**
 * Plans the digest of each platform with a coaches' channel at the hour that settings say, once a day. A bot that was away at the hour makes
 * up for it on the same day within three hours; later there is none: what waits has changed, and the list of what waits tells that at any time.
 */
export function startDigest(deps: Deps, onPlanned: () => void, signal: AbortSignal): Loop {
  const { ledger, platforms, settings, nowMs, log } = deps;
  async function step(): Promise<number> {
    const { digestHour, zone, coachChannel } = settings();
    const { date, hour } = localTime(nowMs(), zone);
    if (digestHour === null || hour < digestHour || hour >= digestHour + lateHours) return lookMs;
    for (const { name } of platforms) {
      const channel = coachChannel[name];
      const key = `digest/${name}/${date}`;
      if (channel === undefined || (await ledger.act(key)) !== null) continue;
      const message = plain(await digestText(name, deps));
      const payload = { do: 'post', platform: name, to: { channel, message: null }, message };
      await ledger.plan([{ key, lane: `coach/${name}`, submission: null, payload, essential: false }], nowMs());
      onPlanned();
    }
    return lookMs;
  }
  return startLoop(step, (error) => log.error({ error: String(error) }, 'the digest cannot be made'), signal);
}

import type { PlatformName } from '../platforms/port.ts';
import type { BotDeps, BotSettings } from './deps.ts';
import { moderatorLane } from './desk/moderator/announce.ts';
import { weekText } from './desk/moderator/week-report.ts';
import { dateBefore, hourMs, localTime, weekdayOf } from './local-time.ts';
import { type Loop, startLoop } from './loop.ts';
import { type Payload, plain } from './payload.ts';

const lookMs = 60_000; // chosen: the report is at most a minute late
const daysOfWeek = 7;

/** The newest report that is due: its day, and the time up to which it tells; null when none is wanted. */
function dueReport({ reportDay, reportHour, zone }: BotSettings, nowMs: number): { date: string; toMs: number } | null {
  if (reportDay === null) return null;
  const today = localTime(nowMs, zone).date;
  for (let daysAgo = 0; daysAgo <= daysOfWeek; daysAgo += 1) {
    const date = dateBefore(today, daysAgo);
    const toMs = hourMs(date, reportHour, zone);
    if (weekdayOf(date) === reportDay && toMs <= nowMs) return { date, toMs };
  }
  return null;
}

/**
 * Posts the week's report to the moderators' channel of each platform at the set hour of the set day, once, however many bots there are and
 * however often they start. One that is missed because no bot ran is posted at the next start with the numbers up to its hour; of several
 * missed ones the last alone. A week without clips has none. Where the set day was moved, no late report tells of days that one told of.
 */
export function startWeeklyReport(deps: BotDeps, onPlanned: () => void, signal: AbortSignal): Loop {
  const { ledger, log, nowMs, settings } = deps;

  async function report(platform: PlatformName, channel: string, date: string, toMs: number): Promise<void> {
    const key = `week/${platform}/${date}`;
    // The act may have been forgotten since, the day of the last report is not.
    const lastOn = await ledger.cursor(`week/${platform}`);
    if (lastOn !== null && lastOn >= date) return;
    const isLate = localTime(nowMs(), settings().zone).date !== date;
    const isTold = isLate && lastOn !== null && lastOn > dateBefore(date, daysOfWeek);
    const text = isTold || (await ledger.act(key)) !== null ? null : await weekText(deps, platform, toMs);
    if (text !== null) {
      const payload: Payload = { do: 'post', platform, to: { channel, message: null }, message: plain(text) };
      await ledger.plan([{ key, lane: moderatorLane(platform), submission: null, payload, essential: false }], nowMs());
      onPlanned();
    }
    await ledger.setCursor(`week/${platform}`, date);
  }

  return startLoop(
    async () => {
      const due = dueReport(settings(), nowMs());
      for (const { name } of due === null ? [] : deps.platforms) {
        const channel = settings().moderatorChannel[name];
        if (due !== null && channel !== undefined) await report(name, channel, due.date, due.toMs);
      }
      return lookMs;
    },
    (error) => log.error({ error: String(error) }, "the week's report could not be made"),
    signal,
  );
}

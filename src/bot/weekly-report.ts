import type { PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { moderatorLane } from './desk/moderator/announce.ts';
import { weekText } from './desk/moderator/week-report.ts';
import { localTime } from './local-time.ts';
import { type Loop, startLoop } from './loop.ts';
import { type Payload, plain } from './payload.ts';

const lookMs = 60_000;
const days = ['sunday', 'monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday'] as const;

/**
 * Posts the week's report to the moderators' channel of each platform on the set day from the set hour on, once, however often the bot
 * starts on that day. A day on which the bot never runs has no report; nor has a week without clips.
 */
export function startWeeklyReport(deps: BotDeps, onPlanned: () => void, signal: AbortSignal): Loop {
  const { ledger, log, nowMs, settings } = deps;
  const looked = new Set<string>();

  async function report(platform: PlatformName, channel: string, date: string): Promise<void> {
    const key = `week/${platform}/${date}`;
    if (looked.has(key)) return;
    if ((await ledger.act(key)) === null) {
      const text = await weekText(deps, platform, nowMs());
      const payload: Payload = { do: 'post', platform, to: { channel, message: null }, message: plain(text ?? '') };
      const act = { key, lane: moderatorLane(platform), submission: null, payload, essential: false };
      if (text !== null) await ledger.plan([act], nowMs());
      if (text !== null) onPlanned();
    }
    looked.add(key);
  }

  return startLoop(
    async () => {
      const { reportDay, reportHour, zone, moderatorChannel } = settings();
      const { date, hour } = localTime(nowMs(), zone);
      const day = days[new Date(`${date}T00:00:00Z`).getUTCDay()];
      if (reportDay !== day || hour < reportHour) return lookMs;
      for (const { name } of deps.platforms) {
        const channel = moderatorChannel[name];
        if (channel !== undefined) await report(name, channel, date);
      }
      return lookMs;
    },
    (error) => log.error({ error: String(error) }, "the week's report could not be made"),
    signal,
  );
}

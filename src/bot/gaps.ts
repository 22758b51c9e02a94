import { longestWaitMs } from '../ledger/port.ts';
import { PlatformError, type PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { backoffMs, type Loop, startLoop } from './loop.ts';
import type { Reader } from './resume.ts';

const shut = 'a watched channel cannot be read: bring it or its permissions back, or take it out of the settings';

export interface Gaps extends Loop {
  /** Notes that something may have been missed; it is read now, or after the wait of a failed try. */
  open(name: PlatformName, attempts: number): void;
}

/** Reads gaps until they are read, one platform's after the other's. */
export function startGaps(
  { platforms, settings, log, nowMs, random }: Pick<BotDeps, 'platforms' | 'settings' | 'log' | 'nowMs' | 'random'>,
  reader: Reader,
  signal: AbortSignal,
): Gaps {
  const gaps = new Map<PlatformName, { attempts: number; notBeforeMs: number }>();
  const note = (name: PlatformName, attempts: number) => {
    const waitMs = attempts === 0 ? 0 : backoffMs(null, settings().retryAfterMs, attempts, random);
    gaps.set(name, { attempts, notBeforeMs: attempts === 0 ? 0 : nowMs() + waitMs });
  };
  const waitOf = (gap: { notBeforeMs: number }) => {
    const leftMs = gap.notBeforeMs - nowMs();
    return leftMs > longestWaitMs ? 0 : leftMs; // more: the clock was set back
  };
  const loop = startLoop(
    async () => {
      for (const [name, gap] of gaps) {
        const platform = platforms.find((one) => one.name === name);
        if (platform === undefined || waitOf(gap) > 0) continue;
        gaps.delete(name);
        const unread = await reader.backfill(platform, signal);
        if (unread.length === 0 || signal.aborted) continue;
        const attempts = gap.attempts + 1;
        for (const { channel, error } of unread) {
          const details = { platform: name, channel, error: String(error), attempts };
          if (error instanceof PlatformError && error.retry.final) log.error(details, shut);
          else log.warn(details, 'a gap could not be read, it is tried again');
        }
        // One that was opened meanwhile is read at once.
        if (!gaps.has(name)) note(name, attempts);
      }
      return gaps.size === 0 ? null : Math.max(10, Math.min(...[...gaps.values()].map(waitOf)));
    },
    (error) => log.error({ error: String(error) }, 'gaps cannot be read'),
    signal,
  );
  return {
    ...loop,
    open(name, attempts) {
      reader.openGap(name);
      note(name, attempts);
      loop.kick();
    },
  };
}

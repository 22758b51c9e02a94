import type { PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { backoffMs, type Loop, startLoop } from './loop.ts';
import type { Reader } from './resume.ts';

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
  const loop = startLoop(
    async () => {
      for (const [name, gap] of gaps) {
        const platform = platforms.find((one) => one.name === name);
        if (platform === undefined || gap.notBeforeMs > nowMs()) continue;
        gaps.delete(name);
        await reader.backfill(platform, signal).catch((error: unknown) => {
          if (signal.aborted) return;
          const attempts = gap.attempts + 1;
          log.warn({ platform: name, error: String(error), attempts }, 'a gap could not be read, it is tried again');
          note(name, attempts);
        });
      }
      return gaps.size === 0 ? null : Math.max(10, Math.min(...[...gaps.values()].map((gap) => gap.notBeforeMs)) - nowMs());
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

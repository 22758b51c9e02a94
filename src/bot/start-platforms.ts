import { setTimeout as wait } from 'node:timers/promises';
import { type Command, type Platform, PlatformError, type PlatformEvents } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { backoffMs } from './loop.ts';
import type { PlatformStates } from './platform-states.ts';

export interface PlatformStarts {
  /**
   * Resolves when each platform is up or had its first try, at the latest after `patienceMs`. Rejects with the first error when all of them
   * failed in a way that trying again does not help, or that the adapter did not explain.
   */
  first: Promise<void>;
  /** Resolves when the signal was aborted and nothing is tried any more. */
  ended: Promise<void>;
}

/** Starts each platform on its own: one that cannot be reached is tried again with growing waits and does not hold up the others. */
export function startPlatforms(
  deps: Pick<BotDeps, 'platforms' | 'settings' | 'log' | 'random'>,
  states: PlatformStates,
  events: PlatformEvents,
  commands: Command[],
  patienceMs: number,
  signal: AbortSignal,
): PlatformStarts {
  const { platforms, settings, log, random } = deps;
  const hopeless: unknown[] = [];

  async function keepStarting(platform: Platform, tried: () => void): Promise<void> {
    const { name } = platform;
    for (let attempts = 1; !signal.aborted; attempts += 1) {
      try {
        await platform.start(events, commands, signal);
        states.line(name, 'up', null);
        log.info({ platform: name, attempts }, 'a platform is up');
        return;
      } catch (error) {
        if (signal.aborted) return;
        const known = error instanceof PlatformError ? error : null;
        const isFinal = known?.retry.final === true;
        if (attempts === 1 && (isFinal || known === null)) hopeless.push(error);
        states.line(name, isFinal ? 'refused' : 'unreachable', error instanceof Error ? error.message : String(error));
        if (isFinal) return;
        const details = { platform: name, code: known?.code, error: String(error), attempts };
        const waitMs = backoffMs(known?.retry.retryAfterMs ?? null, settings().retryAfterMs, attempts, random);
        log.error({ ...details, waitMs }, 'a platform could not be started, it is tried again');
        tried();
        await wait(waitMs, undefined, { signal }).catch(() => {});
      } finally {
        tried();
      }
    }
  }

  const runs: Promise<void>[] = [];
  const firstTries = platforms.map((platform) => new Promise<void>((tried) => void runs.push(keepStarting(platform, tried))));
  async function first(): Promise<void> {
    const patience = new AbortController();
    const late = wait(patienceMs, undefined, { signal: AbortSignal.any([signal, patience.signal]) }).catch(() => {});
    await Promise.race([Promise.all(firstTries), late]);
    patience.abort();
    if (platforms.length > 0 && hopeless.length === platforms.length) throw hopeless[0];
  }
  return { first: first(), ended: Promise.all(runs).then(() => {}) };
}

import { longestWaitMs } from '../ledger/port.ts';

/** Work that goes round: once when kicked, and again when the last round said. */
export interface Loop {
  kick(): void;
  /** Resolves when the signal was aborted and the last round has ended. */
  ended: Promise<void>;
}

/** Pause after an error that was not foreseen, such as a ledger that cannot be written, so that nothing spins. */
export const afterErrorMs = 1000; // chosen: no busy loop, and hardly a delay once the trouble is over

/** Runs `step` now, after each kick and, when it gave a number, that many ms later. An error is told and the step comes again. */
export function startLoop(step: () => Promise<number | null>, onError: (error: unknown) => void, signal: AbortSignal): Loop {
  let kicked = false;
  let wake: (() => void) | null = null;
  const sleep = (ms: number | null) =>
    new Promise<void>((resolve) => {
      const timer = ms === null ? null : setTimeout(resolve, ms);
      wake = () => {
        if (timer !== null) clearTimeout(timer);
        resolve();
      };
    });
  signal.addEventListener('abort', () => wake?.(), { once: true });
  const run = async () => {
    while (!signal.aborted) {
      kicked = false;
      let ms: number | null = afterErrorMs;
      try {
        ms = await step();
      } catch (error) {
        if (!signal.aborted) onError(error);
      }
      if (!kicked && !signal.aborted) await sleep(ms);
    }
  };
  return {
    kick() {
      kicked = true;
      wake?.();
    },
    ended: run(),
  };
}

const longestBackoffMs = 300_000; // chosen: what is well again is noticed within five minutes, and 12 tries an hour burden nobody

/**
 * Wait before try number `attempts` + 1, whole ms (the ledger keeps whole ms): `toldMs` where the other side told how long, else doubled
 * each time up to five minutes, plus up to a fifth by chance; never longer than the ledger's longest wait.
 */
export function backoffMs(toldMs: number | null, firstMs: number, attempts: number, random: () => number): number {
  const ownMs = Math.min(firstMs * 2 ** Math.max(0, attempts - 1), longestBackoffMs) * (1 + 0.2 * random());
  return Math.min(Math.ceil(toldMs ?? ownMs), longestWaitMs);
}

import { setTimeout as wait } from 'node:timers/promises';
import type { FinalAnswer, QueueHandlers, QueueLog } from './port.ts';

const firstWaitMs = 500; // chosen: a locked ledger is free again by then
const longestWaitMs = 60_000; // chosen: what is well again is noticed within a minute

/** Tells an answer again and again, ever more slowly, until it was taken. Rejects only when aborted. */
export async function deliver(
  handlers: QueueHandlers,
  id: string,
  answer: FinalAnswer,
  log: QueueLog,
  signal: AbortSignal,
): Promise<void> {
  for (let waitMs = firstWaitMs; ; waitMs = Math.min(2 * waitMs, longestWaitMs)) {
    signal.throwIfAborted();
    try {
      return await handlers.onResult(id, answer);
    } catch (error) {
      log.warn({ id, error: String(error), waitMs }, 'a result could not be kept, it is told again');
    }
    await wait(waitMs, undefined, { signal });
  }
}

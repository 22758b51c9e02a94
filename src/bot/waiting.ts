import type { Ledger, SubmissionState } from '../ledger/port.ts';
import type { Queue } from '../queue/port.ts';
import type { Words } from './deps.ts';

const waitingStates: readonly SubmissionState[] = ['received', 'spooled', 'queued', 'measuring'];

/** What the progress message of a clip says now; null when it waits no more. `shares`: share measured by id, 0..1. */
export async function waitingText(
  id: string,
  { ledger, queue, words, shares }: { ledger: Ledger; queue: Queue; words: Words; shares: ReadonlyMap<string, number> },
): Promise<string | null> {
  const s = await ledger.submission(id);
  if (s === null || !waitingStates.includes(s.state)) return null;
  return words.waiting({ ahead: queue.places().get(id) ?? null, share: s.state === 'measuring' ? (shares.get(id) ?? 0) : null });
}

import type { Submission } from '../ledger/port.ts';
import type { Mark } from '../platforms/port.ts';

const markOf = (s: Submission): Mark => s.verdict ?? (s.errorCode === null ? 'seen' : 'failed');

/** Marks that a message should have: for each of its clips that of the clip's newest judged later take, else its own. `lane`: the whole thread. */
export function marksOf(message: string, lane: readonly Submission[]): Mark[] {
  const marks = lane
    .filter((s) => s.ref.message === message)
    .map((s) => markOf(lane.slice(lane.indexOf(s)).findLast((take) => take.root === s.root && take.verdict !== null) ?? s));
  return [...new Set(marks)];
}

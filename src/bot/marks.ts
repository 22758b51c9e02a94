import type { Ledger, Submission } from '../ledger/port.ts';
import type { Mark } from '../platforms/port.ts';

type Book = Pick<Ledger, 'inLane' | 'desk' | 'evidence'>;

/** The mark of a clip: what the coaches made of it, else what was found. A clip that was sent back and sent on counts as passed. */
async function markOf(s: Submission, { desk, evidence }: Book): Promise<Mark> {
  if (s.verdict === null) return s.errorCode === null ? 'seen' : 'failed';
  const entry = await desk.entry(s.id);
  if (entry === null) return s.verdict;
  if (entry.state === 'done') return 'done';
  if (entry.state === 'unusable') return 'fix';
  if (s.verdict !== 'fix') return s.verdict;
  return (await evidence.of(s.id)).length > 0 ? 'unsure' : 'clean';
}

/** Marks that a message should have: for each of its clips that of the clip's newest judged later take, else its own. `lane`: its thread. */
export async function marksNow(message: string, lane: string, book: Book): Promise<Mark[]> {
  const takes = await book.inLane(lane);
  const marks = takes
    .filter((s) => s.ref.message === message)
    .map((s) => takes.slice(takes.indexOf(s)).findLast((take) => take.root === s.root && take.verdict !== null) ?? s)
    .map((s) => markOf(s, book));
  return [...new Set(await Promise.all(marks))];
}

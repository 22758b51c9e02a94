import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Submission } from '../ledger/port.ts';
import type { OutgoingFile } from '../platforms/port.ts';
import { compareSets, latestAlike } from '../record/compare.ts';
import { measuredReps, setRecordOf } from '../record/set-record.ts';
import { wordComparison, wordSpeed } from '../wording/record.ts';
import type { BotDeps } from './deps.ts';
import { pictureFile } from './desk/member/drawn.ts';
import { historyOf } from './desk/member/history.ts';

type Deps = Pick<BotDeps, 'ledger' | 'language' | 'draw' | 'spool' | 'random' | 'log'>;

/**
 * The bar's speed for a card: a line of the set, one of how it stands to the member's last of the same lift and load among `earlier`, and a
 * chart. Nothing where no rep was found or the lift is not known.
 */
export async function cardRecord(
  s: Submission,
  facts: Facts,
  judgement: Judgement,
  earlier: readonly Submission[],
  deps: Deps,
): Promise<{ lines: string[]; chart: OutgoingFile | null }> {
  const { lift } = judgement;
  if (lift === null || lift === 'other' || !facts.reps.known) return { lines: [], chart: null };
  const { statureCm } = await deps.ledger.members.get(s.ref.platform, s.authorId);
  const now = setRecordOf(facts, { lift, statureM: statureCm === null ? null : statureCm / 100 });
  const before = latestAlike(now, historyOf(earlier, statureCm, lift).sets);
  const comparison = before === null ? null : compareSets(now, before.set);
  const compared =
    before === null || comparison === null
      ? []
      : [wordComparison(comparison, { ...before, loadKg: before.set.loadKg }, deps.language).text];
  const lines = [wordSpeed(now, deps.language, 'coach').text, ...compared];
  if (measuredReps(now).length === 0) return { lines, chart: null };
  const isComparable = before !== null && comparison !== null && comparison.result !== 'cannot-tell';
  const beside = isComparable ? { atMs: before.atMs, set: before.set, factor: comparison.earlierFactor } : null;
  try {
    return { lines, chart: await pictureFile(deps.draw.speeds(now, beside), `${s.id}.speeds`, 'speeds.png', deps) };
  } catch (error) {
    deps.log.error({ id: s.id, error: String(error) }, 'a chart of speeds could not be drawn');
    return { lines, chart: null };
  }
}

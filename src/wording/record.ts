import type { Comparison } from '../record/compare.ts';
import { measuredReps, type SetRecord, speedLoss } from '../record/set-record.ts';
import { languageOf } from './index.ts';

/** Means by rep, the highest peak and the widest spread of a set; null when no speed was measured. */
export function speedSaid(set: SetRecord): { means: (number | null)[]; peakMps: number; spreadMps: number } | null {
  const speeds = measuredReps(set).map(({ speed }) => speed);
  if (speeds.length === 0) return null;
  return {
    means: set.reps.map(({ speed }) => speed?.meanMps ?? null),
    peakMps: Math.max(...speeds.map((speed) => speed.peakMps)),
    spreadMps: Math.max(...speeds.map((speed) => speed.meanSpreadMps)),
  };
}

/**
 * The bar's speed in one line for the coach's card or the member's thread: mean of each rep with its spread, highest peak, loss over the set; or
 * that it cannot be told, and why, in words for who reads it.
 */
export function wordSpeed(set: SetRecord, language: string, reader: 'member' | 'coach'): { text: string } {
  const words = languageOf(language);
  const said = speedSaid(set);
  if (said === null) {
    const reason = set.speedUnknown ?? 'not-measured';
    const { reasons } = reader === 'coach' ? words.forCoaches : words;
    return { text: words.record.speedUnknown(reasons[reason] ?? reason) };
  }
  return {
    text: words.record.speed({ ...said, loss: speedLoss(set), assumed: set.scale?.assumed ?? false }),
  };
}

/** How a set stands to an earlier one in one line; `earlier.atMs`: when that was posted, ms since 1970; `unit`: how the member counts loads. */
export function wordComparison(
  comparison: Comparison,
  earlier: { atMs: number; loadKg: number | null; unit: 'kg' | 'lb' },
  language: string,
): { text: string } {
  const words = languageOf(language);
  if (comparison.result === 'cannot-tell') return { text: words.record.notCompared[comparison.reason] ?? comparison.reason };
  const loadText = earlier.loadKg === null ? null : words.card.load(earlier.loadKg, earlier.unit);
  return { text: words.record[comparison.result](comparison, { day: dayOf(earlier.atMs), loadText }) };
}

/** Day of a time, 2026-11-12, UTC. */
export function dayOf(ms: number): string {
  return new Date(ms).toISOString().slice(0, 10);
}

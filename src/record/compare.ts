import { measuredReps, type SetRecord } from './set-record.ts';

/** How a set's speed stands to an earlier one of the same lift and load. */
export type Comparison =
  | {
      result: 'faster' | 'slower' | 'same';
      /** By how much faster, percent of the earlier speed (slower: negative), and the half-width of its 90 % interval in percentage points. */
      percent: number;
      spreadPoints: number;
      /** How many reps of each, from the first on, are compared. */
      reps: number;
      /** What the earlier set's speeds are multiplied by to stand on this clip's scale. */
      earlierFactor: number;
    }
  | { result: 'cannot-tell'; reason: 'other-lift' | 'load-unknown' | 'other-load' | 'speed-unknown' };

/** Loads this near are the same load, share of the lighter: 2.5 kg at 100 kg, the smallest pair of plates of most gyms (common practice). */
const sameLoadShare = 0.025;
/**
 * How much the height of a lifter's way up differs between two sets of one lift, half-width of the 90 % interval as a share (common practice:
 * limbs do not change, depth does a little). With it the time of the way up, which needs no scale, says most of what a comparison can say.
 */
const sameWayShare = 0.08;

/** Why two sets cannot be compared; null when they are of the same lift and load. */
function whyNotAlike(a: SetRecord, b: SetRecord): 'other-lift' | 'load-unknown' | 'other-load' | null {
  if (a.lift !== b.lift || a.lift === 'other') return 'other-lift';
  if (a.loadKg === null || b.loadKg === null) return 'load-unknown';
  const tolerance = sameLoadShare * Math.min(a.loadKg, b.loadKg) + 1e-9;
  return Math.abs(a.loadKg - b.loadKg) > tolerance ? 'other-load' : null;
}

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;

/**
 * Whether a set was faster or slower than an earlier one of the same member, both put to the same stature: mean speed over as many first reps as both have. Speed is height over
 * time: the times are compared as measured; of the heights, the two clips' scales say one thing and that a lifter's way hardly changes another,
 * and each counts by how sure it is. Within the spread it is the same.
 */
export function compareSets(now: SetRecord, earlier: SetRecord): Comparison {
  const reason = whyNotAlike(now, earlier);
  if (reason !== null) return { result: 'cannot-tell', reason };
  const [a, b] = [new Map(speeds(now)), new Map(speeds(earlier))];
  const both = [...a.keys()].filter((rep) => b.has(rep));
  if (both.length === 0 || now.scale === null || earlier.scale === null)
    return { result: 'cannot-tell', reason: 'speed-unknown' };
  const pairs = both.map((rep) => [a.get(rep)!, b.get(rep)!] as const);
  const slower = mean(pairs.map(([x, y]) => Math.log(x.upS / y.upS)));
  const higher = mean(pairs.map(([x, y]) => Math.log((x.meanMps * x.upS) / (y.meanMps * y.upS))));
  // one lifter has one stature: its spread is no difference between the clips
  const scaleShare = Math.hypot(now.scale.share, earlier.scale.share);
  const weight = sameWayShare ** 2 / (sameWayShare ** 2 + scaleShare ** 2);
  const heightShare = sameWayShare * Math.sqrt(1 - weight);
  const repShare = Math.sqrt(mean(pairs.map(([x, y]) => x.share ** 2 + y.share ** 2)) / pairs.length);
  const change = weight * higher - slower;
  const spread = Math.hypot(repShare, heightShare);
  return {
    result: change > spread ? 'faster' : change < -spread ? 'slower' : 'same',
    percent: 100 * (Math.exp(change) - 1),
    spreadPoints: 100 * Math.exp(change) * spread,
    reps: pairs.length,
    earlierFactor: Math.exp((1 - weight) * higher),
  };
}

const speeds = (set: SetRecord) => measuredReps(set).map(({ rep, speed }) => [rep, speed] as const);

/** The latest of earlier sets that can be compared with this one: same lift, same load, speeds measured. `sets` in any order; null when there is none. */
export function latestAlike<T extends { atMs: number; set: SetRecord }>(now: SetRecord, sets: readonly T[]): T | null {
  const alike = sets.filter(({ set }) => compareSets(now, set).result !== 'cannot-tell');
  return alike.reduce<T | null>((best, one) => (best === null || one.atMs > best.atMs ? one : best), null);
}

import type { UnknownReason } from '../facts/fact.ts';
import type { Facts, LiftId } from '../facts/facts.ts';

/** One rep as the record keeps it: clip times in seconds and, where it was measured, the bar's speed on the way up. */
export interface RepRecord {
  startS: number;
  endS: number;
  speed: RepSpeedRecord | null;
}

/**
 * Speed of one way up: its time in seconds, mean and peak in m/s with the half-width of the 90 % interval (everything in it), and `share`,
 * `peakShare`: the part of that by which it may differ from other reps of the clip, as shares.
 */
export interface RepSpeedRecord {
  upS: number;
  meanMps: number;
  meanSpreadMps: number;
  peakMps: number;
  peakSpreadMps: number;
  share: number;
  peakShare: number;
}

/** One set of a member, measured from one clip. */
export interface SetRecord {
  lift: LiftId;
  /** From the caption, kg; null when not stated. */
  loadKg: number | null;
  reps: RepRecord[];
  /** Why no speed was measured, null when it was; `lift-unknown`: it was measured as another lift than it is judged as. */
  speedUnknown: UnknownReason | 'lift-unknown' | null;
  /**
   * What all speeds of the set share: half-widths of 90 % intervals as shares, of the clip's own scale and of the stature.
   * `assumed`: they are those of a lifter of average height.
   */
  scale: { share: number; statureShare: number; assumed: boolean } | null;
}

/** Half-width of the 90 % interval of a stature that a member has set, as a share: shoes and a rounded number, 2 cm of 1.73 m. */
const setStatureShare = 0.012;

/**
 * The record of one clip. `lift`: as judged. `statureM`: the member's set stature in metres, null when none is set: then the speeds are those of a
 * lifter of average height, with the spread of statures in theirs. A stature set later is put to old facts by calling this again.
 */
export function setRecordOf(facts: Facts, options: { lift: LiftId; statureM: number | null }): SetRecord {
  const { barSpeed } = facts;
  const { lift, statureM } = options;
  const loadKg = facts.caption.known ? facts.caption.value.loadKg : null;
  const reps = facts.reps.known ? facts.reps.value : [];
  // which joint the bar goes with hangs on the lift
  const ofAnother = facts.lift.known && facts.lift.value !== lift;
  if (!barSpeed.known || ofAnother) {
    const bare = reps.map(({ startS, endS }) => ({ startS, endS, speed: null }));
    return { lift, loadKg, reps: bare, speedUnknown: barSpeed.known ? 'lift-unknown' : barSpeed.reason, scale: null };
  }
  const { scale } = barSpeed.value;
  const factor = statureM === null ? 1 : statureM / scale.statureM;
  const statureShare = statureM === null ? scale.statureSpreadShare : setStatureShare;
  const speeds = new Map(
    barSpeed.value.reps.map((speed): [number, RepSpeedRecord] => {
      const [meanMps, peakMps] = [speed.meanMps * factor, speed.peakMps * factor];
      const spread = (share: number) => Math.hypot(share, scale.spreadShare, statureShare);
      return [
        speed.rep,
        {
          upS: speed.toS - speed.fromS,
          meanMps,
          meanSpreadMps: meanMps * spread(speed.spreadShare),
          peakMps,
          peakSpreadMps: peakMps * spread(speed.peakSpreadShare),
          share: speed.spreadShare,
          peakShare: speed.peakSpreadShare,
        },
      ];
    }),
  );
  return {
    lift,
    loadKg,
    reps: reps.map(({ startS, endS }, i) => ({ startS, endS, speed: speeds.get(i + 1) ?? null })),
    speedUnknown: speeds.size === 0 ? 'hidden' : null,
    scale: { share: scale.spreadShare, statureShare, assumed: statureM === null },
  };
}

/** The reps of a set whose speed is known, with their place from 1. */
export function measuredReps(set: SetRecord): { rep: number; speed: RepSpeedRecord }[] {
  return set.reps.flatMap(({ speed }, i) => (speed === null ? [] : [{ rep: i + 1, speed }]));
}

/**
 * Speed lost over a set as the trade counts it: from the fastest rep's mean to the last rep's, in percent of the fastest (common practice), with
 * the half-width of its 90 % interval in percentage points. null with fewer than two measured reps, or when the last rep was not measured.
 */
export function speedLoss(set: SetRecord): { percent: number; spreadPoints: number } | null {
  const measured = measuredReps(set);
  const last = set.reps.at(-1)?.speed;
  if (!last || measured.length < 2) return null;
  const best = measured.reduce((a, b) => (b.speed.meanMps > a.speed.meanMps ? b : a)).speed;
  if (best === last) return { percent: 0, spreadPoints: 100 * Math.hypot(last.share, last.share) };
  const left = last.meanMps / best.meanMps;
  return { percent: 100 * (1 - left), spreadPoints: 100 * left * Math.hypot(last.share, best.share) };
}

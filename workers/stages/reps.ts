import type { LiftId } from '../../src/facts/facts.ts';
import { type Style, styles } from './lift-styles.ts';
import type { Movement } from './movement.ts';
import { type Extreme, extremes, median, quantile } from './series.ts';

/** One cycle of the driving signal, as indices into it. `score` 0..1: how well the posture fits the lift. */
export interface Cycle {
  start: number;
  turn: number;
  end: number;
  amplitudeM: number;
  score: number;
  /** False when it does not come back to rest within the clip. */
  complete: boolean;
}

/** A reading of the movement as one lift. */
export interface Reading {
  lift: LiftId;
  cycles: Cycle[];
  /** Sum of the cycles' scores, with what speaks against the lift taken off. */
  score: number;
}

/** A longer way is no rep (a grind takes ten seconds, common practice), and less fit than this no reading. */
const longestRepS = 14;
const leastFit = 0.12;
/** A rep starts and ends where the signal is this share of its travel away from rest. */
const leaveShare = 0.06;
/** From this share to that one the movement is taken to be evenly accelerated, and carried on to its start by this much at most. */
const farShare = 0.25;
const mostCarryS = 0.35;
/** It comes to a halt where, past this share of the travel, it changes by less than a share of the travel in a time. */
const haltTravel = 0.75;
const haltShare = 0.035;
const haltS = 0.5;

/** A rise that comes back less than this share of the way to rest is a bump on the way (a hand read wrong for a moment), no end of a rep. */
const bumpShare = 0.5;

/** The extremes without bumps: a high between two lows that does not come near the highs beside them goes, with the shallower low. */
function withoutBumps(v: readonly number[], points: readonly Extreme[]): Extreme[] {
  const kept = [...points];
  for (let at = 2; at < kept.length - 2; at++) {
    const [before, low, high, next, after] = kept.slice(at - 2, at + 3).map(({ index }) => v[index]!) as [
      number,
      number,
      number,
      number,
      number,
    ];
    if (kept[at]!.kind !== 'high' || high - Math.min(low, next) >= bumpShare * (Math.min(before, after) - Math.min(low, next)))
      continue;
    kept.splice(low < next ? at : at - 1, 2);
    at = Math.max(1, at - 3);
  }
  return kept;
}

/** A pull begins when the bar leaves the floor: the hands are this far above the lowest place that they had since a little before. Fitted on rendered clips, checked on real ones. */
const offFloor = { riseM: 0.05, beforeS: 0.7 };

/** Where the hands leave the floor on the way to a turn, looked for from `start` or a little before. */
function barLeaves({ wrist, stepS }: Movement, start: number, turn: number): number {
  const from = Math.max(0, start - Math.round(offFloor.beforeS / stepS));
  const low = Math.min(...wrist.slice(from, turn + 1));
  let at = turn;
  while (at > from && wrist[at]! > low + offFloor.riseM) at--;
  return at;
}

/** The cycles of one lift in the movement. */
function cyclesOf(m: Movement, style: Style): Cycle[] {
  const raw = style.drive(m);
  if (raw === null) return [];
  // for a lift that goes up first, look at it upside down, so that all lifts go down from rest
  const v = style.first === 'down' ? raw : raw.map((x) => -x);
  const wide = quantile(v, 0.98) - quantile(v, 0.02);
  const least = Math.max(style.leastM, 0.25 * wide);
  const points = withoutBumps(v, extremes(v, least * 0.7));
  const out: Cycle[] = [];
  for (let k = 0; k < points.length; k++) {
    const turnPoint = points[k]!;
    if (turnPoint.kind !== 'low') continue;
    const before = points[k - 1];
    const after = points[k + 1];
    if (!before) continue;
    const turn = turnPoint.index;
    const depthBefore = v[before.index]! - v[turn]!;
    const depthAfter = after ? v[after.index]! - v[turn]! : 0;
    const complete = after !== undefined && depthAfter > 0.5 * depthBefore;
    const amplitudeM = complete ? Math.min(depthBefore, depthAfter) : depthBefore;
    if (amplitudeM < style.leastM) continue;
    const start = leave(v, turn, before.index, amplitudeM, -1, m.stepS);
    // a bar that is held at the top or dropped from there does not come back: the rep ends where the top is reached
    const end = complete ? leave(v, turn, after.index, amplitudeM, 1, m.stepS) : reached(v, before.index, turn);
    if ((end - start) * m.stepS > longestRepS) continue;
    const fit = style.fit(m, start, turn, start, Math.max(end, turn));
    const begin = style.lift === 'deadlift' ? barLeaves(m, start, turn) : start;
    out.push({ start: begin, turn: complete ? turn : end, end, amplitudeM, score: fit * (complete ? 1 : 0.5), complete });
  }
  return withTwins(v, out).filter((c) => c.score >= leastFit);
}

/** A cycle is a twin of sure ones (at least this many, of at least this fit) when its rest, turn and travel are theirs within this share of the travel. */
const twins = { least: 2, sureFit: 0.5, apart: 0.15 };

/**
 * A set repeats itself: a whole cycle whose posture was misread (hands behind the plates) but that goes the very same way as at least two sure ones
 * is one of them, at half their score.
 */
function withTwins(v: readonly number[], cycles: readonly Cycle[]): Cycle[] {
  const sure = cycles.filter((c) => c.complete && c.score >= twins.sureFit);
  if (sure.length < twins.least) return [...cycles];
  const middle = (of: (c: Cycle) => number) => median(sure.map(of));
  const [travelM, restM, turnM] = [middle((c) => c.amplitudeM), middle((c) => v[c.start]!), middle((c) => v[c.turn]!)];
  const near = (a: number, b: number) => Math.abs(a - b) < twins.apart * travelM;
  const isTwin = (c: Cycle) => c.complete && near(c.amplitudeM, travelM) && near(v[c.start]!, restM) && near(v[c.turn]!, turnM);
  return cycles.map((c) => (isTwin(c) ? { ...c, score: Math.max(c.score, 0.5 * middle(({ score }) => score)) } : c));
}

/**
 * From the turn outwards, the place where the movement on that side begins or ends: where the signal is within `leaveShare` of rest, carried
 * on to zero travel as a movement of even acceleration would (travel grows with the square of time).
 */
function leave(v: readonly number[], turn: number, rest: number, amplitude: number, way: 1 | -1, stepS: number): number {
  const travel = Math.min(amplitude, v[rest]! - v[turn]!);
  const reach = (share: number) => {
    let i = turn;
    while (i !== rest && v[i]! < v[turn]! + (1 - share) * travel) i += way;
    return i;
  };
  // rest is where the signal is back, or where it comes to a halt a little short of it (a step or a new stance in between)
  const halt = Math.round(haltS / stepS);
  let near = reach(leaveShare);
  for (let i = reach(1 - haltTravel); i !== near; i += way) {
    const later = i + way * halt;
    if (later < 0 || later >= v.length || (rest - later) * way < 0) break;
    if (Math.abs(v[later]! - v[i]!) < haltShare * travel && Math.abs(v[i + way]! - v[i]!) < haltShare * travel) {
      near = i;
      break;
    }
  }
  const far = reach(farShare);
  const more = Math.min(Math.abs(near - far) / (Math.sqrt(farShare / leaveShare) - 1), mostCarryS / stepS);
  const at = near + way * Math.round(0.8 * more);
  return Math.max(0, Math.min(v.length - 1, at));
}

/** The first index on the way from rest to the turn that is within `leaveShare` of the turn. */
function reached(v: readonly number[], rest: number, turn: number): number {
  const level = v[turn]! + leaveShare * (v[rest]! - v[turn]!);
  let i = rest;
  while (i < turn && v[i]! > level) i++;
  return i;
}

/** Keeps the cycles whose travel is alike: a set repeats itself, unracking and walking do not. */
function alike(all: Cycle[]): Cycle[] {
  // standing up without the bar after a set looks like the first half of one more rep
  const cycles = all.some((c) => c.complete) ? all.filter((c) => c.complete) : all;
  if (cycles.length < 2) return cycles;
  const best = quantile(
    cycles.map((c) => c.amplitudeM * c.score),
    0.9,
  );
  const typical = cycles.filter((c) => c.amplitudeM * c.score > 0.5 * best);
  const amplitude = median(typical.map((c) => c.amplitudeM));
  return cycles.filter((c) => c.amplitudeM > 0.6 * amplitude && c.amplitudeM < 1.7 * amplitude);
}

/** Readings of a movement as each of the lifts, the likeliest first; a lift without cycles is left out. */
export function readingsOf(m: Movement): Reading[] {
  return styles
    .map((style): Reading => {
      const cycles = alike(cyclesOf(m, style));
      return { lift: style.lift, cycles, score: cycles.reduce((sum, c) => sum + c.score * Math.min(1, c.amplitudeM / 0.3), 0) };
    })
    .filter((r) => r.cycles.length > 0)
    .sort((a, b) => b.score - a.score);
}

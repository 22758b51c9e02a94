import { type Cycle, longestRepS } from './cycle.ts';
import { type Extreme, extremes, quantile } from './series.ts';

/** A rep starts and ends where the signal is this share of its travel away from rest. */
const leaveShare = 0.06;
/** From this share to that one the movement is taken to be evenly accelerated, and carried on to its start by this much at most, seconds. */
const farShare = 0.25;
const mostCarryS = 0.35;
/**
 * Of that, the share that counts. Measured: 0.8 meets the times of rendered clips best at both sides. People see a movement down begin later than it does,
 * so that labels by eye are met best by 0.1 to 0.3 there, and rendered clips by 0.3 nearly as well.
 */
const carried = { down: 0.3, else: 0.8 };
/** It comes to a halt where, past this share of the travel, it changes by less than a share of the travel in `haltS`. */
const haltTravel = 0.75;
const haltShare = 0.035;
/** How long a movement is still for a halt, seconds. */
export const haltS = 0.5;

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

/** A part of a movement, as indices: from the first to the last. */
export type Stretch = [from: number, to: number];

/** One way from rest and back of a signal, as indices into it; `complete`: false when it does not come back. */
export type Wave = Pick<Cycle, 'start' | 'turn' | 'end' | 'amplitudeM' | 'complete'>;

/** The waves of a signal that goes down from rest, or of a part of it, of at least `leastM`; `first`: which way what it shows goes first. */
export function wavesOf(
  v: readonly number[],
  { leastM, stepS, first }: { leastM: number; stepS: number; first: 'up' | 'down' },
  [from, to]: Stretch = [0, v.length - 1],
): Wave[] {
  const part = v.slice(from, to + 1);
  const wide = quantile(part, 0.98) - quantile(part, 0.02);
  const least = Math.max(leastM, 0.25 * wide);
  const found = extremes(part, least * 0.7).map(({ index, kind }) => ({ index: from + index, kind }));
  const points = withoutBumps(v, found);
  return points.flatMap((point, k): Wave[] => {
    const [before, after] = [points[k - 1], points[k + 1]];
    if (point.kind !== 'low' || !before) return [];
    const turn = point.index;
    const depthBefore = v[before.index]! - v[turn]!;
    const depthAfter = after ? v[after.index]! - v[turn]! : 0;
    const complete = after !== undefined && depthAfter > 0.5 * depthBefore;
    const amplitudeM = complete ? Math.min(depthBefore, depthAfter) : depthBefore;
    if (amplitudeM < leastM) return [];
    const leaves = (rest: number, way: 1 | -1) =>
      leave(v, { turn, rest, amplitudeM, way }, stepS, first === 'down' && way < 0 ? carried.down : carried.else);
    const start = leaves(before.index, -1);
    // a bar that is held at the top or dropped from there does not come back: the rep ends where the top is reached
    const end = complete ? leaves(after.index, 1) : reached(v, before.index, turn);
    return (end - start) * stepS > longestRepS ? [] : [{ start, turn, end, amplitudeM, complete }];
  });
}

/**
 * From the turn outwards, the place where the movement on that side begins or ends: where the signal is within `leaveShare` of rest, carried
 * on to zero travel as a movement of even acceleration would (travel grows with the square of time).
 */
export function leave(
  v: readonly number[],
  { turn, rest, amplitudeM, way }: { turn: number; rest: number; amplitudeM: number; way: 1 | -1 },
  stepS: number,
  carry: number = carried.else,
): number {
  const travel = Math.min(amplitudeM, v[rest]! - v[turn]!);
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
  const at = near + way * Math.round(carry * more);
  return Math.max(0, Math.min(v.length - 1, at));
}

/** The first index on the way from rest to the turn that is within `leaveShare` of the turn. */
function reached(v: readonly number[], rest: number, turn: number): number {
  const level = v[turn]! + leaveShare * (v[rest]! - v[turn]!);
  let i = rest;
  while (i < turn && v[i]! > level) i++;
  return i;
}

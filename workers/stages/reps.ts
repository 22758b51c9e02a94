import type { LiftId } from '../../src/facts/facts.ts';
import { type Cycle, goesAsFar, longestRepS, scoreOf, withBarDown, withHeld, withTwins, withUnderWay } from './cycle.ts';
import { completedByBar } from './hands-and-bar.ts';
import { type Style, styles } from './lift-styles.ts';
import type { Movement } from './movement.ts';
import { type Extreme, extremes, median, quantile } from './series.ts';

/** A reading of the movement as one lift. */
export interface Reading {
  lift: LiftId;
  /** Whether it was read from the bar alone and not from a joint. */
  ofBar: boolean;
  cycles: Cycle[];
  /** Sum of the cycles' scores, with what speaks against the lift taken off. */
  score: number;
}

/** Less fit than this is no reading. */
const leastFit = 0.12;
/** A rep starts and ends where the signal is this share of its travel away from rest. */
const leaveShare = 0.06;
/**
 * From this share to that one the movement is taken to be evenly accelerated, and carried on to its start by this much at most, for a share of it:
 * measured, poses are smoothed so much that most of it is needed, the bar little.
 */
const farShare = 0.25;
const mostCarryS = 0.35;
const carried = { joints: 0.8, bar: 0.2 };
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

/** Somebody walks where hips and feet are both this far from where they were, middle of the second before to middle of the second after; shorter stays hold no rep. */
const walk = { farM: 0.35, overS: 1, leastStayS: 1.5 };

/** What is read in places counts when it scores so many times what the whole does (chosen: a stay that ends too early halves a rep or loses it). */
const inPlaceOver = 1.5;

/** A part of a movement, as indices: from the first to the last. */
type Stretch = [from: number, to: number];

/** The stretches of the movement in which the person stays in one place. */
function staysOf({ hip, hipAcross, ankle, ankleAcross, stepS }: Movement): Stretch[] {
  const over = Math.round(walk.overS / stepS);
  const last = hip.length - 1;
  const moved = (v: readonly number[], at: number) =>
    median(v.slice(at, at + over + 1)) - median(v.slice(Math.max(0, at - over), at + 1));
  const far = (up: number[], across: number[], at: number) => Math.hypot(moved(up, at), moved(across, at)) > walk.farM;
  // hips move in a lift and feet are misread at times, but a walk moves both
  const walks = hip.map((_, at) => far(ankle, ankleAcross, at) && far(hip, hipAcross, at));
  const stays: Stretch[] = [];
  for (let from = 0; from <= last; from++) {
    if (walks[from]) continue;
    let to = from;
    while (to < last && !walks[to + 1]) to++;
    if ((to - from) * stepS >= walk.leastStayS) stays.push([from, to]);
    from = to;
  }
  return stays;
}

/** One way from rest and back of a signal, as indices into it; `complete`: false when it does not come back. */
type Wave = Pick<Cycle, 'start' | 'turn' | 'end' | 'amplitudeM' | 'complete'>;

/** The waves of a signal that goes down from rest, or of a part of it, of at least `leastM`. */
function wavesOf(
  v: readonly number[],
  { leastM, stepS, carry = carried.joints }: { leastM: number; stepS: number; carry?: number },
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
    const leaves = (rest: number, way: 1 | -1) => leave(v, { turn, rest, amplitudeM, way }, stepS, carry);
    const start = leaves(before.index, -1);
    // a bar that is held at the top or dropped from there does not come back: the rep ends where the top is reached
    const end = complete ? leaves(after.index, 1) : reached(v, before.index, turn);
    return (end - start) * stepS > longestRepS ? [] : [{ start, turn, end, amplitudeM, complete }];
  });
}

/** A signal of which all lifts go down from rest: one that goes up first is turned upside down. */
const fromRest = (v: readonly number[], style: Style) => (style.first === 'down' ? [...v] : v.map((x) => -x));

/** The cycles of one lift in the movement, or in a part of it. */
function cyclesOf(m: Movement, style: Style, stretch?: Stretch): Cycle[] {
  const drive = style.drive(m);
  if (drive === null) return [];
  const v = fromRest(drive, style);
  const cycles = wavesOf(v, { leastM: style.leastM, stepS: m.stepS }, stretch).map((wave): Cycle => {
    const { start, turn, end, complete } = wave;
    const begin = style.lift === 'deadlift' ? barLeaves(m, start, turn) : start;
    // what comes after a bar that is held or dropped at the top is no part of the lift
    const held = Math.min(turn, end + Math.round(haltS / m.stepS));
    const fit = Math.max(...(complete ? [turn] : [end, held]).map((at) => style.fit(m, start, at, start, complete ? end : at)));
    return { ...wave, start: begin, turn: complete ? turn : end, score: fit * (complete ? 1 : 0.5) };
  });
  const endOf = (turn: number, rest: number, amplitudeM: number) =>
    leave(v, { turn, rest, amplitudeM, way: 1 }, m.stepS, carried.joints);
  const twins = withTwins(v, cycles);
  const told = (style.first === 'up' ? withHeld(v, twins, m, style) : twins).filter((c) => c.score >= leastFit);
  return withUnderWay(v, told, m, style, [stretch?.[0] ?? 0, endOf]);
}

/**
 * A wave of another signal is that of a cycle when its travel is between these shares of the cycle's; of the bar, whose plates are nearer than the
 * joints and may hide a part of their way, more.
 */
const waveShare = { least: 0.5, most: 2, mostOfBar: 3 };

/**
 * The cycles with the times that most signals agree on, which go the same way as the driving one: the bar, where it was followed, and joints. What reads
 * one of them wrong for a moment (plates before the shoulders, a step at the end) moves the others less.
 */
function timedTogether(m: Movement, style: Style, cycles: readonly Cycle[]): Cycle[] {
  const leastM = waveShare.least * Math.min(...cycles.map((c) => c.amplitudeM));
  const waves = (v: readonly number[], carry: number) =>
    wavesOf(fromRest(v, style), { leastM, stepS: m.stepS, carry }).filter((wave) => wave.complete);
  const joints = style.beside.map((joint) => ({ all: waves(m[joint], carried.joints), most: waveShare.most }));
  const witnesses = m.bar === null ? joints : [{ all: waves(m.bar, carried.bar), most: waveShare.mostOfBar }, ...joints];
  return cycles.map((cycle) => {
    if (!cycle.complete) return cycle;
    const same = witnesses.flatMap(({ all, most }): Wave[] => {
      const within = all.filter(({ turn }) => turn > cycle.start && turn < cycle.end);
      return within.length === 1 && within[0]!.amplitudeM < most * cycle.amplitudeM ? within : [];
    });
    const middle = (of: (wave: Wave) => number) => Math.round(median([cycle, ...same].map(of)));
    return { ...cycle, start: middle((w) => w.start), turn: middle((w) => w.turn), end: middle((w) => w.end) };
  });
}

/**
 * From the turn outwards, the place where the movement on that side begins or ends: where the signal is within `leaveShare` of rest, carried
 * on to zero travel as a movement of even acceleration would (travel grows with the square of time).
 */
function leave(
  v: readonly number[],
  { turn, rest, amplitudeM, way }: { turn: number; rest: number; amplitudeM: number; way: 1 | -1 },
  stepS: number,
  carry: number,
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

/** Keeps the cycles whose travel is alike: a set repeats itself, unracking and walking do not. */
function alike(all: Cycle[]): Cycle[] {
  // standing up without the bar after a set looks like the first half of one more rep
  const cycles = all.some((c) => c.complete) ? all.filter((c) => c.complete) : all;
  if (cycles.length < 2) return cycles;
  const weights = cycles.map((c) => c.amplitudeM * c.score).sort((x, y) => x - y);
  const best = weights[Math.ceil(0.9 * (weights.length - 1))]!;
  const typical = cycles.filter((c) => c.amplitudeM * c.score > 0.5 * best);
  const amplitude = median(typical.map((c) => c.amplitudeM));
  return cycles.filter((c) => c.amplitudeM > 0.6 * amplitude && c.amplitudeM < 1.7 * amplitude);
}

/** Readings of a movement as each of the lifts, the likeliest first; a lift without cycles is left out. */
export function readingsOf(m: Movement): Reading[] {
  // beside a way across the room a rep is small, and the way seems to be a part of it: a set is done in one place
  const stays = staysOf(m);
  const readings = styles
    .map((style): Reading => {
      const whole = alike(cyclesOf(m, style));
      const inPlace = alike(stays.flatMap((stay) => cyclesOf(m, style, stay)));
      const cycles = scoreOf(inPlace) > inPlaceOver * scoreOf(whole) ? inPlace : whole;
      const timed = cycles.length === 0 ? [] : timedTogether(m, style, cycles);
      const told = style.lift === 'deadlift' ? withBarDown(timed, m) : timed;
      return { lift: style.lift, ofBar: style.ofBar ?? false, cycles: told, score: scoreOf(told) };
    })
    .filter((r) => r.cycles.length > 0);
  return completedByBar(readings).sort((a, b) => b.score - a.score);
}

/**
 * From the first to the last rep of a reading, as indices, and on over whole ways next to them that go as far, though the posture in them does not fit
 * the lift: it may have been misread. Next to: no farther off than reps of the set are from each other, or than a rep is long.
 */
export function setWithMisread(m: Movement, { lift, ofBar, cycles }: Reading): Stretch {
  const style = styles.find((one) => one.lift === lift && (one.ofBar ?? false) === ofBar)!;
  const set: Stretch = [cycles[0]!.start, cycles.at(-1)!.end];
  const rests = cycles.slice(1).map((cycle, at) => cycle.start - cycles[at]!.end);
  const near = Math.max(...rests, median(cycles.map((cycle) => cycle.end - cycle.start)));
  const ways = wavesOf(fromRest(style.drive(m)!, style), { leastM: style.leastM, stepS: m.stepS }).filter((way) =>
    goesAsFar(way, cycles),
  );
  for (const way of ways.toReversed()) if (way.end <= set[0] && way.end >= set[0] - near) set[0] = way.start;
  for (const way of ways) if (way.start >= set[1] && way.start <= set[1] + near) set[1] = way.end;
  return set;
}

/** A movement repeats itself with at least so many ways up and down, of at least this travel, each at least this share of the longest. */
const repeated = { least: 2, leastM: 0.25, alike: 0.6 };

/** Whether hands or shoulders go up and down again and again in one place, be it no lift that is known here. */
export function repeatsItself(m: Movement): boolean {
  return staysOf(m).some((stay) =>
    [m.wrist, m.shoulder].some((signal) =>
      [signal, signal.map((height) => -height)].some((v) => {
        const waves = wavesOf(v, { leastM: repeated.leastM, stepS: m.stepS }, stay).filter((wave) => wave.complete);
        const longest = Math.max(...waves.map((wave) => wave.amplitudeM));
        return waves.filter((wave) => wave.amplitudeM >= repeated.alike * longest).length >= repeated.least;
      }),
    ),
  );
}

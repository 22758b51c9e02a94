import type { LiftId } from '../../src/facts/facts.ts';
import { barFollowed, type Cycle, goesAsFar, isSame, scoreOf, withBarDown, withHeld, withTwins, withUnderWay } from './cycle.ts';
import { barAlone, completedByBar } from './hands-and-bar.ts';
import { type Style, styles } from './lift-styles.ts';
import type { Movement } from './movement.ts';
import { median, ramp } from './series.ts';
import { haltS, leave, type Stretch, type Wave, wavesOf } from './waves.ts';

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
/** A pull begins when the bar leaves the floor: the hands are this far above the lowest place that they had since a little before. Fitted on rendered clips, checked on real ones. */
const offFloor = { riseM: 0.05, beforeS: 0.7 };

/**
 * Where the bar leaves the floor on the way to a turn, looked for from `start` or a little before: where the hands have risen and, if it was followed, what
 * moves around them too, for hands wander while the lifter settles.
 */
function barLeaves(m: Movement, start: number, turn: number): number {
  const from = Math.max(0, start - Math.round(offFloor.beforeS / m.stepS));
  const leaves = (height: readonly number[]) => {
    const low = Math.min(...height.slice(from, turn + 1));
    let at = turn;
    while (at > from && height[at]! > low + offFloor.riseM) at--;
    return at;
  };
  const byHands = leaves(m.wrist);
  return barFollowed(m)({ start, turn }) ? Math.max(byHands, leaves(m.bar!)) : byHands;
}

/** Somebody walks where hips and feet are both this far from where they were, middle of the second before to middle of the second after; shorter stays hold no rep. */
const walk = { farM: 0.35, overS: 1, leastStayS: 1.5 };

/** What is read in places counts when it scores so many times what the whole does (chosen: a stay that ends too early halves a rep or loses it). */
const inPlaceOver = 1.5;

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

/** A signal of which all lifts go down from rest: one that goes up first is turned upside down. */
const fromRest = (v: readonly number[], style: Style) => (style.first === 'down' ? [...v] : v.map((x) => -x));

/** 0 for a way up or down that is quicker than any lift's: somebody else, or a phone that is swung. Takes its seconds, half of down and up; chosen. */
const slowEnough = (wayS: number) => ramp(wayS, 0.25, 0.5);

/**
 * What a way counts that does not come back; and one up of a deadlift on which the bar, which was followed, rises less than so much of what the hands do:
 * standing up without it. Chosen.
 */
const barStays = 0.5;
const half = { held: 0.5, withoutBar: 0.25 };

function halfPull({ bar, wrist }: Movement, { lift }: Style, start: number, end: number): number {
  if (lift !== 'deadlift' || bar === null) return half.held;
  const rise = (of: readonly number[]) => Math.max(...of.slice(start, end + 1)) - of[start]!;
  return rise(bar) < barStays * rise(wrist) ? half.withoutBar : half.held;
}

/** The cycles of one lift in the movement, or in a part of it. */
function cyclesOf(m: Movement, style: Style, stretch?: Stretch): Cycle[] {
  const drive = style.drive(m);
  if (drive === null) return [];
  const v = fromRest(drive, style);
  const cycles = wavesOf(v, { leastM: style.leastM, stepS: m.stepS, first: style.first }, stretch).map((wave): Cycle => {
    const { start, turn, end, complete } = wave;
    const begin = style.lift === 'deadlift' ? barLeaves(m, start, turn) : start;
    // what comes after a bar that is held or dropped at the top is no part of the lift
    const held = Math.min(turn, end + Math.round(haltS / m.stepS));
    const fits = (complete ? [turn] : [end, held]).map((at) => {
      const to = complete ? end : at;
      const ways = complete || style.first === 'down' ? 2 : 1;
      return style.fit(m, start, at, start, to) * slowEnough(((to - start) * m.stepS) / ways);
    });
    const fit = Math.max(...fits) * (complete ? 1 : halfPull(m, style, begin, end));
    return { ...wave, start: begin, turn: complete ? turn : end, score: fit };
  });
  const endOf = (turn: number, rest: number, amplitudeM: number) => leave(v, { turn, rest, amplitudeM, way: 1 }, m.stepS);
  const twins = withTwins(v, cycles);
  const told = (style.first === 'up' ? withHeld(v, twins, m, style) : twins).filter((c) => c.score >= leastFit);
  return withUnderWay(v, told, m, style, [stretch?.[0] ?? 0, endOf]);
}

/**
 * A wave of another signal is that of a cycle when its travel is between these shares of the cycle's; of the bar, whose plates are nearer than the
 * joints and may hide a part of their way, more. Chosen.
 */
const waveShare = { least: 0.5, most: 2, mostOfBar: 4 };

/** The bar turns within this time of hands that were lost at the turn, seconds. Chosen. */
const barAfterS = 0.5;

/** Whole waves of a signal that may be those of a lift's cycles. */
function wholeWaves(v: readonly number[], style: Style, cycles: readonly Cycle[], { stepS }: Movement): Wave[] {
  const leastM = waveShare.least * Math.min(...cycles.map((c) => c.amplitudeM));
  return wavesOf(fromRest(v, style), { leastM, stepS, first: style.first }).filter((wave) => wave.complete);
}

/**
 * The cycles with the times that most signals agree on, which go the same way as the driving one: the bar, where it was followed, and joints. What reads
 * one of them wrong for a moment (plates before the shoulders, a step at the end) moves the others less. Where hands alone drive it the bar's times are
 * told beside theirs.
 */
function timedTogether(m: Movement, style: Style, cycles: readonly Cycle[]): Cycle[] {
  const joints = style.beside.map((joint) => ({ all: wholeWaves(m[joint], style, cycles, m), most: waveShare.most }));
  const bar = m.bar && { all: wholeWaves(m.bar, style, cycles, m), most: waveShare.mostOfBar };
  const witnesses = bar === null ? joints : [bar, ...joints];
  return cycles.map((cycle) => {
    // of hands that were lost on the way the bar may tell the rest
    if (!cycle.complete && joints.length > 0) return cycle;
    const until = cycle.complete ? cycle.end : cycle.turn + Math.round(barAfterS / m.stepS);
    const same = witnesses.flatMap(({ all, most }): Wave[] => {
      const within = all.filter(({ turn }) => turn > cycle.start && turn < until);
      return within.length === 1 && within[0]!.amplitudeM < most * cycle.amplitudeM ? within : [];
    });
    if (joints.length === 0) return same[0] === undefined ? cycle : { ...cycle, bar: same[0] };
    const middle = (of: (wave: Wave) => number) => Math.round(median([cycle, ...same].map(of)));
    return { ...cycle, start: middle((w) => w.start), turn: middle((w) => w.turn), end: middle((w) => w.end) };
  });
}

/** So many reps that both body and bar tell make a set of which the bar alone tells others. Chosen. */
const leastTold = 2;

/**
 * A set of a standing lift with whole ways of the bar that go as far as its own, if the hands go along: where shoulders are hidden or misread at the
 * lockout the bar is still seen. At half the score of the others.
 */
function withBarAlone(m: Movement, style: Style, cycles: readonly Cycle[]): Cycle[] {
  if (m.bar === null || style.lift === 'bench' || cycles.length === 0) return [...cycles];
  const hands = wholeWaves(m.wrist, style, cycles, m);
  const alone = barAlone(cycles, wholeWaves(m.bar, style, cycles, m), leastTold);
  const [amplitudeM, score] = [median(cycles.map((c) => c.amplitudeM)), median(cycles.map((c) => c.score)) / 2];
  const more = alone.filter((way) => hands.some((h) => isSame(h, way))).map((way): Cycle => ({ ...way, amplitudeM, score }));
  return [...cycles, ...more].sort((a, b) => a.start - b.start);
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
      // a bar goes up and down the same in other lifts: what it alone tells speaks for none
      return { lift: style.lift, ofBar: style.ofBar ?? false, cycles: withBarAlone(m, style, told), score: scoreOf(told) };
    })
    .filter((r) => r.cycles.length > 0);
  return completedByBar(readings).sort((a, b) => b.score - a.score);
}

/**
 * From the first to the last rep of a reading, as indices, and on over whole ways next to them that go as far, though the posture in them does not fit
 * the lift: it may have been misread; ways of what drives the lift, or of the bar, where it was followed in the reps too. Next to: no farther off than
 * reps of the set are from each other, or than a rep is long.
 */
export function setWithMisread(m: Movement, { lift, ofBar, cycles }: Reading): Stretch {
  const style = styles.find((one) => one.lift === lift && (one.ofBar ?? false) === ofBar)!;
  const set: Stretch = [cycles[0]!.start, cycles.at(-1)!.end];
  const rests = cycles.slice(1).map((cycle, at) => cycle.start - cycles[at]!.end);
  const near = Math.max(...rests, median(cycles.map((cycle) => cycle.end - cycle.start)));
  const waves = (v: readonly number[]) =>
    wavesOf(fromRest(v, style), { leastM: style.leastM, stepS: m.stepS, first: style.first });
  const driven = waves(style.drive(m)!).filter((way) => goesAsFar(way, cycles));
  const bar = m.bar === null ? [] : waves(m.bar);
  const toldToo = bar.filter((way) => way.complete && cycles.some((cycle) => isSame(cycle, way)));
  const ways = [...driven, ...bar.filter((way) => goesAsFar(way, toldToo))];
  for (const way of ways.toSorted((x, y) => y.end - x.end)) if (way.end <= set[0] && way.end >= set[0] - near) set[0] = way.start;
  for (const way of ways.toSorted((x, y) => x.start - y.start))
    if (way.start >= set[1] && way.start <= set[1] + near) set[1] = way.end;
  return set;
}

/** A movement repeats itself with at least so many ways up and down, of at least this travel, each at least this share of the longest. */
const repeated = { least: 2, leastM: 0.25, alike: 0.6 };

/** Whether hands or shoulders go up and down again and again in one place, be it no lift that is known here. */
export function repeatsItself(m: Movement): boolean {
  return staysOf(m).some((stay) =>
    [m.wrist, m.shoulder].some((signal) =>
      [signal, signal.map((height) => -height)].some((v) => {
        const waves = wavesOf(v, { leastM: repeated.leastM, stepS: m.stepS, first: 'down' }, stay).filter(
          (wave) => wave.complete,
        );
        const longest = Math.max(...waves.map((wave) => wave.amplitudeM));
        return waves.filter((wave) => wave.amplitudeM >= repeated.alike * longest).length >= repeated.least;
      }),
    ),
  );
}

import type { LiftId } from '../../src/facts/facts.ts';
import type { Movement } from './movement.ts';
import { median, quantile, ramp } from './series.ts';

/** How one lift moves. */
export interface Style {
  lift: Exclude<LiftId, 'other'>;
  /** Which way it goes from rest. */
  first: 'up' | 'down';
  /** The signal that goes through the reps, metres; null when it was not seen. */
  drive: (m: Movement) => number[] | null;
  /** Whether what drives it is the bar and not a joint. */
  ofBar?: true;
  /** Signals of other joints that go through the reps too, to tell the times by. */
  beside: readonly ('wrist' | 'hip')[];
  /** Least travel of the driving signal, metres. */
  leastM: number;
  /** How well the posture fits the lift, 0..1; places are indices into the movement. */
  fit: (m: Movement, rest: number, turn: number, from: number, to: number) => number;
}

const range = (v: number[], from: number, to: number) => {
  const part = v.slice(from, to + 1);
  return quantile(part, 0.95) - quantile(part, 0.05);
};

/** Height of the hands over the shoulders, metres. */
const handsOver = (m: Movement) => m.wrist.map((wrist, at) => wrist - m.shoulder[at]!);

/**
 * Whether the hands fit a squat: at the shoulders (a bar on the back or in front, a weight at the chest), or, without a bar, hanging or
 * stretched out while the trunk stays steep and the hips go down with the shoulders; a pull bends the trunk and lets the arms hang.
 */
function squatHands(m: Movement, rest: number, turn: number): number {
  const atShoulders = ramp(m.shoulder[rest]! - m.wrist[rest]!, 0.38, 0.26);
  const hipsUp = m.hip[turn]! - m.ankle[turn]!;
  // of one who sits low they hang beside the hips; a pull starts with higher hips and the hands far below
  const besideHips = ramp(m.hip[turn]! - m.wrist[turn]!, 0.12, 0) * ramp(hipsUp, 0.42, 0.32);
  const free =
    Math.max(ramp(m.wrist[turn]! - m.ankle[turn]!, 0.28, 0.4), besideHips) *
    ramp(m.trunkUp[turn]!, 0.68, 0.76) *
    ramp(hipsUp, 0, 0.15);
  return Math.max(atShoulders, 0.9 * free);
}

/** How long the way of the bar from the floor to the shoulders takes in a clean or a snatch, seconds at most (chosen: about twice the pull). */
const pullS = 1.2;

/** What is left of the fit to a squat of what moves like one but is another lift: enough to be looked at closely, too little to be sure of. */
const otherFit = 0.2;

/** How far hips and shoulders go the same way across the picture, metres: the body as a whole. */
function bodyAcross({ shoulderAcross, hipAcross }: Movement, rest: number, turn: number): number {
  const [shoulders, hips] = [shoulderAcross, hipAcross].map((v) => v[turn]! - v[rest]!) as [number, number];
  return shoulders * hips > 0 ? Math.min(Math.abs(shoulders), Math.abs(hips)) : 0;
}

/**
 * Low for a clean or a snatch, where the hands came up from the floor to the shoulders or higher just before; and for a lunge, where one foot is before
 * the other, the body goes forward, or, where neither is seen (from the rear or the front), the trunk goes a short way straight down. Measured at the turn
 * of the squats of 161 clips: feet at most 0.21 m in 98 of 100, the body 0.05 m across, a trunk that goes less than 0.36 m upright by 0.95 or less.
 */
function unlessOther(m: Movement, rest: number, turn: number): number {
  const before = Math.max(0, rest - Math.round(pullS / m.stepS));
  const lowest = Math.min(...m.wrist.slice(before, rest + 1).map((wrist, at) => wrist - m.ankle[before + at]!));
  const below = Math.min(...[rest, turn].map((at) => m.shoulder[at]! - m.wrist[at]!));
  const pulled = Math.min(ramp(lowest, 0.55, 0.4), ramp(below, 0.42, 0.3));
  const straightDown = ramp(m.trunkUp[turn]!, 0.96, 0.985) * ramp(m.shoulder[rest]! - m.shoulder[turn]!, 0.36, 0.3);
  const lunged = Math.max(ramp(m.splitM[turn]!, 0.38, 0.5), ramp(bodyAcross(m, rest, turn), 0.1, 0.16), straightDown);
  return 1 - (1 - otherFit) * Math.max(pulled, lunged);
}

/** How alike the bar's way and the shoulders' are, 0..1: alike under a bar on the back or in front, even where the trunk at the bottom is read wrong. */
function barWithShoulders({ bar, shoulder }: Movement, from: number, to: number): number {
  if (bar === null) return 0;
  const [barM, shoulderM] = [range(bar, from, to), range(shoulder, from, to)];
  return ramp(Math.abs(barM - shoulderM) / Math.max(0.05, shoulderM), 0.4, 0.2);
}

/** 1 when the feet and hips are back in their place at the end, 0 when the person has walked. */
const stayed = (m: Movement, from: number, to: number) =>
  ramp(Math.abs(m.hipAcross[from]! - m.hipAcross[to]!), 0.5, 0.25) * ramp(Math.abs(m.ankle[from]! - m.ankle[to]!), 0.5, 0.25);

/** Whether somebody stands upright for longer than a bar is thrown up while hips and shoulders stay where they are, 0..1. Bounds chosen. */
const standsStill = (m: Movement, from: number, to: number) =>
  ramp((to - from) * m.stepS, 0.8, 1.3) *
  ramp(quantile(m.trunkUp.slice(from, to + 1), 0.05), 0.7, 0.85) *
  ramp(range(m.hip, from, to), 0.18, 0.12) *
  ramp(range(m.shoulder, from, to), 0.3, 0.2);

/** How the joints move in each lift; the bounds are common practice, in metres of a person whose pose reads as of average size. */
export const styles: Style[] = [
  {
    lift: 'squat',
    first: 'down',
    drive: (m) => m.shoulder,
    beside: ['wrist', 'hip'],
    leastM: 0.14,
    fit: (m, rest, turn, from, to) =>
      ramp(m.trunkUp[rest]!, 0.5, 0.75) *
      ramp(m.hip[rest]! - m.hip[turn]!, 0.06, 0.16) *
      squatHands(m, rest, turn) *
      // hands overhead or coming up from the floor on the way are another lift
      ramp(m.wrist[turn]! - m.shoulder[turn]!, 0.45, 0.3) *
      ramp(range(handsOver(m), from, to), 0.85, 0.65) *
      Math.max(ramp(m.trunkUp[turn]!, 0.2, 0.45), 0.9 * barWithShoulders(m, from, to)) *
      ramp(range(m.hip, from, to) / Math.max(0.05, range(m.shoulder, from, to)), 0.3, 0.6) *
      unlessOther(m, rest, turn) *
      stayed(m, from, to),
  },
  {
    lift: 'deadlift',
    first: 'up',
    drive: (m) => m.shoulder,
    beside: ['wrist', 'hip'],
    leastM: 0.22,
    fit: (m, rest, turn, from, to) =>
      ramp(m.trunkUp[turn]!, 0.6, 0.8) *
      ramp(m.shoulder[rest]! - m.wrist[rest]!, 0.15, 0.35) *
      ramp(m.wrist[rest]! - m.ankle[rest]!, 0.42, 0.32) *
      // plates that hide the hands make them seem higher
      ramp(m.shoulder[turn]! - m.wrist[turn]!, 0.16, 0.28) *
      ramp(m.wrist[turn]! - m.wrist[rest]!, 0.15, 0.3) *
      // hands that come to the shoulders are another lift
      ramp(quantile(handsOver(m).slice(from, to + 1), 0.95), -0.05, -0.15) *
      stayed(m, from, to),
  },
  {
    lift: 'press',
    first: 'up',
    drive: (m) => m.wrist,
    beside: [],
    leastM: 0.2,
    fit: (m, rest, turn, from, to) =>
      ramp(m.trunkUp[rest]!, 0.6, 0.8) *
      ramp(m.wrist[turn]! - m.shoulder[turn]!, 0.15, 0.32) *
      Math.max(
        ramp(m.wrist[rest]! - m.shoulder[rest]!, -0.4, -0.22),
        // plates hide the hands of one seen from the side, who then seem to let them hang half-way; a pull that ends overhead moves the body
        ramp(m.wrist[rest]! - m.shoulder[rest]!, -0.52, -0.42) * standsStill(m, from, to),
      ) *
      ramp(range(m.hip, from, to), 0.3, 0.16),
  },
  {
    lift: 'bench',
    first: 'down',
    drive: handsOver,
    beside: [],
    leastM: 0.12,
    fit: (m, rest, turn, from, to) =>
      ramp(median(m.trunkUp.slice(from, to + 1)), 0.8, 0.6) *
      ramp(m.wrist[rest]! - m.shoulder[rest]!, 0.05, 0.22) *
      ramp(range(m.shoulder, from, to), 0.4, 0.2) *
      ramp(m.wrist[turn]! - m.hip[turn]!, -0.6, -0.35),
  },
  {
    // plates, the bench and the lifter's own trunk hide the hands from the pose models, but not the bar; hands that were seen count a little more (0.9)
    lift: 'bench',
    first: 'down',
    drive: (m) => m.bar,
    ofBar: true,
    beside: [],
    leastM: 0.12,
    fit: (m, rest, _turn, from, to) =>
      0.9 *
      ramp(median(m.trunkUp.slice(from, to + 1)), 0.8, 0.6) *
      ramp(m.wrist[rest]! - m.shoulder[rest]!, -0.25, -0.05) *
      ramp(Math.max(range(m.shoulder, from, to), range(m.hip, from, to)), 0.4, 0.2),
  },
];

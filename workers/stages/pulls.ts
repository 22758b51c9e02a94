import type { Rep } from '../../src/facts/facts.ts';
import type { Movement } from './movement.ts';

/** How hands come up from where they hang to the shoulders or higher: metres, and how upright the trunk is then (a sine). */
interface Pull {
  /** They hang at least so far below the shoulders, and at most so far above the ankles. */
  hangM: number;
  lowM: number;
  /** Up, they are no farther below the shoulders, of a trunk between these. */
  topM: number;
  trunk: readonly [least: number, most: number];
  /** The shoulders sink by no more than this on the way and a little after. */
  sinkM: number;
}

/**
 * From the floor to the shoulders of one who stands, or sits below the bar, as in a clean or a snatch, and to the trunk of one who stays bent, as in a row;
 * while they should hold the bar, from anywhere, as in a row above the floor, but not as in a squat whose arms swing up. Bounds chosen on rendered clips,
 * checked on real ones.
 */
const [all, upright] = [Number.POSITIVE_INFINITY, 0.7];
const atAnyTime: readonly Pull[] = [
  { hangM: 0.35, lowM: 0.5, topM: 0.2, trunk: [upright, all], sinkM: all },
  { hangM: 0.42, lowM: 0.5, topM: 0.3, trunk: [-all, upright], sinkM: 0.1 },
];
const inReps: Pull = { hangM: 0.42, lowM: all, topM: 0.3, trunk: [-all, all], sinkM: 0.1 };
/** The way takes so long at most, seconds (a pull from the floor about 1; chosen). */
const withinS = 2;
/** Arms that swing up in a squat may come before the shoulders sink, by so long, seconds. Chosen. */
const sinksLaterS = 0.5;

/** When the hands are up after each such way, seconds. */
function pullsAs({ wrist, shoulder, ankle, trunkUp, startS, stepS }: Movement, pull: Pull): number[] {
  const { hangM, lowM, topM, trunk, sinkM } = pull;
  const timesS: number[] = [];
  let lowAt: number | null = null;
  for (const [at, hands] of wrist.entries()) {
    const belowM = shoulder[at]! - hands;
    if (belowM > hangM && hands - ankle[at]! < lowM) lowAt = at;
    else if (lowAt !== null && belowM < topM && trunkUp[at]! > trunk[0] && trunkUp[at]! <= trunk[1]) {
      const lowest = Math.min(...shoulder.slice(at, at + Math.round(sinksLaterS / stepS) + 1));
      if ((at - lowAt) * stepS <= withinS && lowest > shoulder[lowAt]! - sinkM) timesS.push(startS + at * stepS);
      lowAt = null;
    }
  }
  return timesS;
}

const isWithin = (reps: readonly Rep[]) => (timeS: number) => timeS >= reps[0]!.startS && timeS <= reps.at(-1)!.endS;

/** A bar that is brought up once before a set (a press, a front squat) speaks for no other lift; so often, and in so many of what else reads as reps, it does. */
const often = { least: 2, share: 0.5 };

/** Whether the bar is brought up again and again, or in all of the reps themselves. */
export function pullsAgain(timesS: readonly number[], reps: readonly Rep[]): boolean {
  return timesS.length >= Math.max(often.least, often.share * reps.length) || timesS.filter(isWithin(reps)).length >= reps.length;
}

/** When hands come up as in a lift that is none of those read, seconds: in the way that they do so most often. */
export function pullsOf(movement: Movement, reps: readonly Rep[]): number[] {
  const ways = [...atAnyTime.map((way) => pullsAs(movement, way)), pullsAs(movement, inReps).filter(isWithin(reps))];
  return ways.reduce((most, way) => (way.length > most.length ? way : most));
}

/**
 * A bar that rises by so much in one way came up to the shoulders, metres. Measured: in deadlifts and squats at most 0.84 with a camera that stays, in
 * cleans and snatches 0.6 to 1.7.
 */
const toShouldersM = 0.95;
/** It is up no later than so long after the hands, seconds. Chosen. */
const barLateS = 1;

/** Whether the bar, where it was followed, came up to the shoulders in a way of the hands that ends at a time. */
export function bringsBarUp({ bar, startS, stepS }: Movement, timeS: number): boolean {
  const at = (s: number) => Math.max(0, Math.round((s - startS) / stepS));
  let [low, rise] = [Number.POSITIVE_INFINITY, 0];
  for (const height of bar?.slice(at(timeS - withinS), at(timeS + barLateS) + 1) ?? []) {
    low = Math.min(low, height);
    rise = Math.max(rise, height - low);
  }
  return rise >= toShouldersM;
}

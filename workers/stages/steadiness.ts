import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import type { Region } from '../pose/types.ts';
import { type Blocks, createBlocks, matchBlocks, onPerson, searchBlocks, takeBlocks } from './blocks.ts';
import { median } from './series.ts';
import type { Box, SmallGray } from './small-gray.ts';

type Steadiness = Extract<Facts['steadiness'], { known: true }>['value'];

/** Where the still background stands at a time: its shift right and down since the first frame, both as shares of the picture's width. */
export type CameraStep = { timeS: number; dxShare: number; dyShare: number };

/**
 * Movement above which it is no tripod, and above which it is moving; rms per second, share of the picture's width. Measured: clips
 * from a tripod 0.0002 to 0.002, a hand held very still 0.013, a normal hand (1 degree, 1 cm) 0.08, four times as much 0.33.
 */
const tripodBelow = 0.006;
const movingAbove = 0.12;
/** Over this time a movement's speed is taken, so that the noise of matching does not count as movement. */
const speedOverS = 0.2;
/** Fewer matched blocks than this tell nothing. */
const minMatched = 4;
/** A new reference picture is taken when the background has moved by this share of the picture's long side. */
const renewAtShare = 0.1;

/**
 * Follows the background from frame to frame. Push every frame of the decode in order, with the boxes of people known in it (they are
 * left out; none is fine). Keeps one small record a frame.
 */
export function createSteadiness(): {
  push(picture: SmallGray, people: readonly Box[]): void;
  /** The background's path; a frame in which it could not be followed (a cut, a blind swing, black) repeats the last place. */
  path(): CameraStep[];
  /** Over the whole clip or a window of it. Unknown `too-dark` or `too-few-frames` where nothing could be followed. */
  facts(window?: { startS: number; endS: number }): Fact<Steadiness>;
} {
  const blocks = createBlocks();
  const steps: (CameraStep & { lost: boolean; textured: boolean })[] = [];
  const previous: SmallGray = { data: new Uint8Array(0), widthPx: 0, heightPx: 0, shrink: 1, timeS: 0 };
  let previousPeople: readonly Box[] = [];
  let atX = 0;
  let atY = 0;
  let baseX = 0;
  let baseY = 0;
  const moved = { x: 0, y: 0 };

  const renew = (picture: SmallGray, people: readonly Box[]) => {
    takeBlocks(blocks, picture, people);
    [baseX, baseY] = [atX, atY];
  };
  const follow = (picture: SmallGray, people: readonly Box[]): boolean => {
    matchBlocks(blocks, picture);
    return agreed(blocks, people, picture.shrink, moved);
  };

  return {
    push(picture, people) {
      const { widthPx, heightPx } = picture;
      let lost = false;
      if (previous.widthPx !== widthPx || previous.heightPx !== heightPx) {
        Object.assign(previous, { widthPx, heightPx, shrink: picture.shrink, data: new Uint8Array(widthPx * heightPx) });
        renew(picture, people);
      } else {
        let ok = blocks.count >= minMatched && follow(picture, people);
        if (!ok) {
          renew(previous, previousPeople);
          ok = follow(picture, people);
          if (!ok && blocks.count >= minMatched) {
            searchBlocks(blocks, picture);
            ok = follow(picture, people);
          }
        }
        lost = !ok;
        if (ok) {
          atX = baseX + moved.x;
          atY = baseY + moved.y;
        }
        if (lost || Math.hypot(moved.x, moved.y) > renewAtShare * Math.max(widthPx, heightPx)) renew(picture, people);
      }
      previous.data.set(picture.data);
      previousPeople = people;
      steps.push({
        timeS: picture.timeS,
        dxShare: atX / widthPx,
        dyShare: atY / widthPx,
        lost,
        textured: blocks.count >= minMatched,
      });
    },
    path: () => steps.map(({ timeS, dxShare, dyShare }) => ({ timeS, dxShare, dyShare })),
    facts(window = { startS: 0, endS: Number.POSITIVE_INFINITY }) {
      const inside = steps.filter(({ timeS }) => timeS >= window.startS - 1e-6 && timeS <= window.endS + 1e-6);
      const rmsPerS = rmsSpeed(inside);
      const followed = inside.filter(({ lost }) => !lost).length / Math.max(1, inside.length);
      if (rmsPerS === null || followed < 0.5) {
        return unknown(inside.filter(({ textured }) => textured).length < inside.length / 2 ? 'too-dark' : 'too-few-frames');
      }
      const moving = above(rmsPerS, movingAbove);
      const free = above(rmsPerS, tripodBelow);
      if (moving > 0.5) return known({ class: 'moving', rmsPerS }, { confidence: moving });
      if (free > 0.5) return known({ class: 'propped-or-held', rmsPerS }, { confidence: Math.min(free, 1 - moving) });
      return known({ class: 'tripod', rmsPerS }, { confidence: 1 - free });
    },
  };
}

/** How far right and down what stands still is in the picture at a time from where it mostly is, shares of the width; nothing at a time not on the path. */
export function swayOf(path: readonly CameraStep[]): (timeS: number) => { x: number; y: number } {
  const steps = new Map(path.map((step) => [step.timeS, step]));
  const middle = (key: 'dxShare' | 'dyShare') => (path.length === 0 ? 0 : median(path.map((step) => step[key])));
  const [x, y] = [middle('dxShare'), middle('dyShare')];
  return (timeS) => {
    const step = steps.get(timeS);
    return step === undefined ? { x: 0, y: 0 } : { x: step.dxShare - x, y: step.dyShare - y };
  };
}

/** A place in the room: the square that it is in the picture while the camera is where it mostly is, and the camera's path. */
export interface Place {
  region: Region;
  path: readonly CameraStep[];
}

/** Tells where a square of the room, given as where it mostly is, is in a picture. */
export function seenAlong(path: readonly CameraStep[]): (region: Region, picture: { widthPx: number }, timeS: number) => Region {
  const sway = swayOf(path);
  return (region, { widthPx }, timeS) => {
    const { x, y } = sway(timeS);
    return { ...region, cx: region.cx + x * widthPx, cy: region.cy + y * widthPx };
  };
}

/** Whether the camera moves for most of the time, not once when it is put down or turned. */
export const movesMuch = (path: readonly CameraStep[]) => median(speedsOf(path)) > movingAbove;

/** Probability that a movement is above a threshold: 0.95 at half as much again. A scale chosen, not fitted. */
const above = (rmsPerS: number, threshold: number) =>
  1 / (1 + Math.exp((-3 / Math.log(1.5)) * Math.log(Math.max(rmsPerS, 1e-6) / threshold)));

/** Shifts differ by about this much over the background, by roll, zoom and depth, px. */
const agreePx = 0.7;
const shiftsX: number[] = [];
const shiftsY: number[] = [];

/**
 * The shift that the most matched blocks off people agree on, not their median: where lifter and spotters fill the picture the
 * background has only the largest group. False when too few matched.
 */
function agreed(blocks: Blocks, people: readonly Box[], shrink: number, into: { x: number; y: number }): boolean {
  shiftsX.length = 0;
  shiftsY.length = 0;
  for (let b = 0; b < blocks.count; b++) {
    if (blocks.matched[b] === 0) continue;
    const [x, y] = [blocks.shiftX[b]!, blocks.shiftY[b]!];
    if (people.length > 0 && onPerson(blocks.x[b]! + x, blocks.y[b]! + y, people, shrink)) continue;
    shiftsX.push(x);
    shiftsY.push(y);
  }
  const n = shiftsX.length;
  if (n < Math.max(minMatched, 0.35 * blocks.count)) return false;
  let best = -1;
  for (let i = 0; i < n; i++) {
    let votes = 0;
    for (let k = 0; k < n; k++) votes += vote(shiftsX[k]! - shiftsX[i]!, shiftsY[k]! - shiftsY[i]!);
    if (votes <= best) continue;
    best = votes;
    into.x = shiftsX[i]!;
    into.y = shiftsY[i]!;
  }
  for (let round = 0; round < 4; round++) {
    let [sumX, sumY, weights] = [0, 0, 0];
    for (let k = 0; k < n; k++) {
      const weight = vote(shiftsX[k]! - into.x, shiftsY[k]! - into.y) ** 2;
      sumX += weight * shiftsX[k]!;
      sumY += weight * shiftsY[k]!;
      weights += weight;
    }
    into.x = sumX / weights;
    into.y = sumY / weights;
  }
  return true;
}

/** Cauchy's kernel: 1 for the same shift, a half at `agreePx`. */
const vote = (dx: number, dy: number) => 1 / (1 + (dx * dx + dy * dy) / agreePx ** 2);

/** Speeds between frames far enough apart that were followed, shares of the width per second. */
function speedsOf(steps: readonly (CameraStep & { lost?: boolean })[]): number[] {
  const speeds: number[] = [];
  let from = 0;
  for (const [i, step] of steps.entries()) {
    if (step.lost) from = i;
    while (from + 1 < i && step.timeS - steps[from + 1]!.timeS >= speedOverS - 0.01) from++;
    const overS = step.timeS - steps[from]!.timeS;
    if (overS < speedOverS - 0.01) continue;
    const start = steps[from]!;
    speeds.push(Math.hypot(step.dxShare - start.dxShare, step.dyShare - start.dyShare) / overS);
  }
  return speeds;
}

/** Root mean square speed, shares of the width per second; null without two frames to tell it by. */
function rmsSpeed(steps: readonly (CameraStep & { lost: boolean })[]): number | null {
  const speeds = speedsOf(steps);
  return speeds.length > 0 ? Math.sqrt(speeds.reduce((sum, speed) => sum + speed ** 2, 0) / speeds.length) : null;
}

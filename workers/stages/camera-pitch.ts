import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { RgbImage } from '../pose/types.ts';
import { focalPxOf } from './camera.ts';
import type { Vec3 } from './course.ts';
import { median, steps } from './series.ts';
import type { CameraStep } from './steadiness.ts';
import { straightEdges } from './straight-edges.ts';

type Picture = RgbImage & { timeS: number };

/** An edge as a ray from the camera through its middle (u, v, 1) sees it. */
interface Line {
  u: number;
  v: number;
  along: readonly [x: number, y: number];
  /** How much it counts: neighbouring pixels are not independent. */
  weight: number;
  /** How far off its direction may be, rad. */
  withinRad: number;
}

/** How the camera is held in a room, rad: `pitch` up, `roll`, and `yaw` from one of the walls. */
interface Turn {
  pitch: number;
  roll: number;
  yaw: number;
}

/**
 * Lines of a room stand upright or lie along one of two walls that meet squarely (Coughlan and Yuille, Neural Computation 15(5), 2003); shares of
 * the edges, the rest run any way. `withinRad`, `endPx`: how far off their direction is, and their ends; a share of them (`askew`) is off by `bentRad`,
 * for lenses bend lines and rooms are not built quite square. Chosen on rendered clips, `askew` with real ones.
 */
const room = { upright: 0.3, alongWall: 0.2, withinRad: 0.006, endPx: 0.25, askew: 0.6, bentRad: 0.025 };
/** Pixels of an edge that count as one witness; of many edges the longest ones are read. */
const pxPerWitness = 40;
const mostLines = 80;
/** A phone is held level and pitched within these, standard deviations, rad. */
const prior = { pitch: 0.35, roll: 0.025 };
/**
 * What is searched, rad: first all pitches, rolls and yaws in these steps, with lines blurred by as much as a step is wide; then around the best of each
 * pitch in ever smaller ones; then finer pitches around those that are likely enough (`log`).
 */
const most = { pitch: 0.6, roll: 0.12 };
const coarse = { pitch: 0.03, roll: 0.03, yaw: 0.04, blur: 0.02, log: 12 };
const [halvings, mostMoves, finePitch] = [5, 6, 0.005];
/** How far off it is how far the camera has turned since a picture, as a share: one that shakes much is not always followed. Chosen. */
const turnedSd = 0.5;
/** A pitch less sure than this says nothing, degrees. */
const mostSdDeg = 4;
const toDeg = 180 / Math.PI;

/**
 * How far the camera looks up (down: below 0), degrees, in a time of a clip, from the lines of the room in its pictures (rgb24) within that time, or
 * the nearest to it: lines along a wall and upright ones run together where the camera's pitch puts their vanishing points. `path`: the camera's own
 * movement between the pictures and that time. `spread`: standard deviation. Unknown `ambiguous` where too few lines agree, `too-few-frames` without a
 * picture. Holds for pictures as the camera was held, not for turned ones, and for a phone's main camera: a longer lens makes it too large.
 */
export function pitchOf(pictures: readonly Picture[], fromS: number, toS: number, path: readonly CameraStep[]): Fact<number> {
  const awayS = ({ timeS }: Picture) => Math.max(0, fromS - timeS, timeS - toS);
  const nearestS = Math.min(...pictures.map(awayS));
  const near = pictures.filter((picture) => awayS(picture) === nearestS);
  if (near.length === 0) return unknown('too-few-frames');
  const lines = near.flatMap((picture) => linesOf(picture, near.length));
  const some = lines.sort((a, b) => b.weight - a.weight).slice(0, mostLines);
  const tried = bestOfEachPitch(some).map((turn) => settled(some, turn));
  const enough = highestOf(tried) - coarse.log;
  const likely = tried
    .filter(({ log }) => log > enough)
    .flatMap((turn) => around(turn.pitch).map((pitch) => settled(some, { ...turn, pitch })))
    .map(({ pitch, log }) => ({ deg: pitch * toDeg, log }));
  const highest = highestOf(likely);
  const shares = likely.map(({ log }) => Math.exp(log - highest));
  const all = shares.reduce((sum, share) => sum + share, 0);
  const mean = likely.reduce((sum, { deg }, i) => sum + shares[i]! * deg, 0) / all;
  const sdDeg = Math.sqrt(likely.reduce((sum, { deg }, i) => sum + shares[i]! * (deg - mean) ** 2, 0) / all);
  const movedDeg = turnedDeg(near, fromS, toS, path);
  const spread = Math.hypot(sdDeg, turnedSd * movedDeg);
  return spread > mostSdDeg ? unknown('ambiguous') : known(mean + movedDeg, { spread });
}

/** How far the camera looks up in the middle of a time beyond where it looked in the pictures, degrees, by where the background stands; 0 without a path. */
function turnedDeg(pictures: readonly Picture[], fromS: number, toS: number, path: readonly CameraStep[]): number {
  const [first] = pictures;
  const inTime = path.filter(({ timeS }) => timeS >= fromS && timeS <= toS);
  const then = pictures
    .map(({ timeS }) => path.findLast((step) => step.timeS <= timeS) ?? path[0])
    .filter((step) => step !== undefined);
  if (inTime.length === 0 || then.length === 0) return 0;
  const sunk = median(inTime.map((step) => step.dyShare)) - median(then.map((step) => step.dyShare));
  return Math.atan((sunk * first!.widthPx) / focalPxOf(first!)) * toDeg;
}

function linesOf(picture: Picture, pictures: number): Line[] {
  const focalPx = focalPxOf(picture);
  return straightEdges(picture).map(({ x, y, along, lengthPx }) => ({
    ...{ u: x / focalPx, v: y / focalPx, along },
    weight: lengthPx / pxPerWitness / pictures,
    withinRad: Math.hypot(room.withinRad, room.endPx / lengthPx),
  }));
}

const highestOf = (of: readonly { log: number }[]) => of.reduce((max, { log }) => Math.max(max, log), Number.NEGATIVE_INFINITY);

/** For each pitch the likeliest roll and yaw, in coarse steps. */
function bestOfEachPitch(lines: readonly Line[]): Turn[] {
  const rolls = steps(-most.roll, most.roll, coarse.roll);
  const yaws = steps(0, Math.PI / 2, coarse.yaw);
  return steps(-most.pitch, most.pitch, coarse.pitch).map((pitch) => {
    let best = { pitch, roll: 0, yaw: 0, log: Number.NEGATIVE_INFINITY };
    for (const roll of rolls)
      for (const yaw of yaws) {
        const log = logOf(lines, { pitch, roll, yaw }, coarse.blur);
        if (log > best.log) best = { pitch, roll, yaw, log };
      }
    return best;
  });
}

/** The likeliest roll and yaw near a turn, its pitch kept: uphill in ever smaller steps, blurred ever less. */
function settled(lines: readonly Line[], from: Turn): Turn & { log: number } {
  let best = { ...from, log: 0 };
  for (let halving = 1; halving <= halvings; halving++) {
    const share = 0.5 ** halving;
    const blurRad = halving === halvings ? 0 : share * coarse.blur;
    best.log = logOf(lines, best, blurRad);
    for (let moves = 0; moves < mostMoves; moves++) {
      const nearby = [-1, 0, 1].flatMap((r) =>
        [-1, 0, 1].map((y) => ({ ...best, roll: best.roll + r * share * coarse.roll, yaw: best.yaw + y * share * coarse.yaw })),
      );
      const next = nearby
        .map((turn) => ({ ...turn, log: logOf(lines, turn, blurRad) }))
        .reduce((a, b) => (b.log > a.log ? b : a), best);
      if (next === best) break;
      best = next;
    }
  }
  return best;
}

/** Fine pitches around a coarse one, none twice. */
const around = (pitch: number) => {
  const width = (coarse.pitch - finePitch) / 2;
  return steps(pitch - width, pitch + width, finePitch);
};

/** The logarithm of how likely lines are in a room seen so, with directions blurred by some rad more. */
function logOf(lines: readonly Line[], { pitch, roll, yaw }: Turn, blurRad: number): number {
  const [sinP, cosP, sinY, cosY] = [Math.sin(pitch), Math.cos(pitch), Math.sin(yaw), Math.cos(yaw)];
  const [sinR, cosR] = [Math.sin(roll), Math.cos(roll)];
  const rolled = (x: number, y: number, z: number): Vec3 => [x * cosR + y * sinR, y * cosR - x * sinR, z];
  const directions = [
    [rolled(0, cosP, -sinP), room.upright],
    [rolled(sinY, cosY * sinP, cosY * cosP), room.alongWall],
    [rolled(cosY, -sinY * sinP, -sinY * cosP), room.alongWall],
  ] as const;
  const anyWay = (1 - room.upright - 2 * room.alongWall) / Math.PI;
  let log = -((Math.tan(pitch) / prior.pitch) ** 2 + (roll / prior.roll) ** 2) / 2;
  for (const line of lines) {
    const within = Math.hypot(line.withinRad, blurRad);
    const [near, far] = [within ** 2, within ** 2 + room.bentRad ** 2];
    const [nearShare, farShare] = [(1 - room.askew) / Math.sqrt(2 * Math.PI * near), room.askew / Math.sqrt(2 * Math.PI * far)];
    let likely = anyWay;
    for (const [direction, share] of directions) {
      const off = offSquared(line, direction);
      if (off > 25 * far) continue;
      likely += share * (nearShare * Math.exp(-off / (2 * near)) + farShare * Math.exp(-off / (2 * far)));
    }
    log += line.weight * Math.log(likely);
  }
  return log;
}

/** How far a line runs off a direction of the room as it is seen from the camera: the sine squared. */
function offSquared({ u, v, along: [alongX, alongY] }: Line, [x, y, z]: Vec3): number {
  const [seenX, seenY] = [x - u * z, y - v * z];
  return (seenX * alongY - seenY * alongX) ** 2 / (seenX * seenX + seenY * seenY);
}

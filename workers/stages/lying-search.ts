import type { PoseEngine } from '../pose/engine.ts';
import { drifted } from '../pose/regions.ts';
import { joint, type Pose, pointWidth, type Region, type RgbImage } from '../pose/types.ts';
import { body, pxPerMetre, shiftedPose, visibilityOf } from './course.ts';
import { median, quantile, ramp } from './series.ts';
import { steepnessOf } from './stander.ts';
import { type CameraStep, seenAlong, swayOf } from './steadiness.ts';

/** A picture of a clip with its time, seconds. */
export type TimedImage = RgbImage & { timeS: number };

/** Pictures of a clip, thinned out evenly as it goes on, for a second search when the first look found no lifter. */
export interface Spread {
  push(frame: TimedImage): void;
  frames(): TimedImage[];
}

/** Frames kept at most (0.4 MB each), and their least distance at first. */
const mostFrames = 24;
const firstEveryS = 0.3;

export function createSpread(): Spread {
  let kept: TimedImage[] = [];
  let everyS = firstEveryS;
  return {
    push({ data, widthPx, heightPx, timeS }) {
      if (kept.length > 0 && timeS - kept.at(-1)!.timeS < everyS) return;
      kept.push({ data: Uint8Array.from(data), widthPx, heightPx, timeS });
      if (kept.length <= mostFrames) return;
      kept = kept.filter((_, i) => i % 2 === 0);
      everyS *= 2;
    },
    frames: () => kept,
  };
}

/** Squares in which a lying lifter is looked for: sides as shares of the picture's longer side; large ones all over the picture, small ones where something moves. */
const large = { sides: [0.45, 0.7, 1], across: [0.3, 0.5, 0.7], down: [0.35, 0.5, 0.65] };
const small = {
  sides: [0.2, 0.3, 0.45],
  offsets: [
    [0, 0],
    [0.25, 0],
    [-0.25, 0],
    [0, 0.25],
    [0, -0.25],
  ] as const,
};
const turnsDeg = [0, 90, 180, 270];
/** Pictures that each square is first looked at in; what is none of a person there is not looked at again. */
const firstLooks = 3;
const leastPresence = 0.8;
/** Pictures in which a square is looked at closer, and the least score that makes a lifter: low, for how they move over the whole clip tells more. */
const closerLooks = 16;
const leastScore = 0.1;
/** A trunk steeper than this (a sine, head up or down) is no lifter's on a bench but a spotter's: in a few pictures, and surely in more. */
const steep = { few: 0.7, more: 0.85 };
/** Squares looked at closer, and of these the best, read once more from where the lifter was seen and by the heavy model. */
const mostSeeds = 24;
const mostRefined = 4;
/** Cells of the map of movement along the picture's longer side, and the share of the strongest movement that counts. */
const cellsLong = 48;
const strong = 0.5;
const rangeOf = (v: number[]) => quantile(v, 0.9) - quantile(v, 0.1);

/** How much poses read from one square look like someone who lies and presses, 0..1: a trunk that lies still, hands that move up and down. */
function lyingScore(poses: readonly Pose[]): number {
  const presence = median(poses.map((p) => p.presence));
  if (presence < leastPresence) return 0;
  const seen = median(poses.map((p) => body.reduce((sum, row) => sum + visibilityOf(p, row), 0) / body.length));
  const pxPerM = Math.max(1, median(poses.map(pxPerMetre)));
  const mid = (p: Pose, a: number, b: number, axis: number) =>
    (p.points[a * pointWidth + axis]! + p.points[b * pointWidth + axis]!) / 2 / pxPerM;
  const shoulders = [0, 1].map((axis) => rangeOf(poses.map((p) => mid(p, joint.shoulderL, joint.shoulderR, axis))));
  const hips = [0, 1].map((axis) => rangeOf(poses.map((p) => mid(p, joint.hipL, joint.hipR, axis))));
  const stillM = Math.max(...shoulders, ...hips);
  const handsUp = poses.map((p) => mid(p, joint.shoulderL, joint.shoulderR, 1) - mid(p, joint.wristL, joint.wristR, 1));
  return (
    presence *
    ramp(seen, 0.2, 0.9) *
    ramp(rangeOf(handsUp), 0.08, 0.2) *
    // a body read the wrong way round seems to let its arms hang
    (0.1 + 0.9 * ramp(median(handsUp), -0.15, 0.05)) *
    ramp(stillM, 0.35, 0.08) *
    ramp(steepnessOf(poses), steep.more, 0.65)
  );
}

/**
 * Looks for a lifter on a bench where the detector, which looks for heads, found none or only a spotter: squares all over the picture, turned
 * every way, are read in a few pictures of the clip, and the one whose hands move while the trunk lies still is given, and behind it the next best
 * that differs from it, where there are. Who lies on a bench stays there in the room, so the squares go with the camera's path; a region found is where
 * they are when the camera is where it mostly is.
 */
export async function findLying(
  frames: readonly TimedImage[],
  path: readonly CameraStep[],
  engine: PoseEngine,
  signal?: AbortSignal,
): Promise<Region[]> {
  const first = frames[0];
  if (first === undefined || frames.length < closerLooks / 2) return [];
  const { widthPx, heightPx } = first;
  const longPx = Math.max(widthPx, heightPx);
  const some = (count: number) =>
    frames.length <= count
      ? frames
      : Array.from({ length: count }, (_, i) => frames[Math.floor(((i + 0.5) * frames.length) / count)]!);
  const [few, more] = [some(firstLooks), some(closerLooks)];
  const [sway, seenIn] = [swayOf(path), seenAlong(path)];
  const read = async (region: Region, of: readonly TimedImage[], model: 'lite' | 'heavy' = 'lite') => {
    const poses: Pose[] = [];
    for (const frame of of) {
      signal?.throwIfAborted();
      const { x, y } = sway(frame.timeS);
      const pose = await engine.landmarks(frame, seenIn(region, frame, frame.timeS), model);
      poses.push(shiftedPose(pose, -x * widthPx, -y * widthPx));
    }
    return poses;
  };
  const squares: Region[] = [];
  const add = (cx: number, cy: number, share: number) => {
    for (const turn of turnsDeg) squares.push({ cx, cy, sidePx: share * longPx, angleRad: (turn * Math.PI) / 180 });
  };
  for (const side of large.sides) for (const x of large.across) for (const y of large.down) add(x * widthPx, y * heightPx, side);
  const moving = movingMiddle(frames, path);
  for (const side of small.sides)
    for (const [dx, dy] of small.offsets) add(moving.x + dx * side * longPx, moving.y + dy * side * longPx, side);

  const seeds: { region: Region; clear: number }[] = [];
  for (const region of squares) {
    const poses = await read(region, few);
    const clear = median(poses.map((p) => p.presence * body.reduce((sum, row) => sum + visibilityOf(p, row), 0)));
    if (median(poses.map((p) => p.presence)) > leastPresence && steepnessOf(poses) < steep.few) seeds.push({ region, clear });
  }
  const scored: { region: Region; next: Region; score: number }[] = [];
  for (const { region } of seeds.sort((a, b) => b.clear - a.clear).slice(0, mostSeeds)) {
    const poses = await read(region, more);
    scored.push({ region, next: middleOf(poses.map((p) => p.next)), score: lyingScore(poses) });
  }
  const best = scored.sort((a, b) => b.score - a.score).slice(0, mostRefined);
  const refined = [...best];
  for (const { next, score } of best) {
    if (score === 0) continue;
    const poses = await read(next, more);
    refined.push({ region: next, next, score: lyingScore(poses) });
  }
  // a body seen the wrong way round fools the light model, the heavy one less; the light one, which follows the lifter, may see them from the one region only
  const found: { region: Region; both: number }[] = [];
  for (const { region, score: lite } of refined.sort((a, b) => b.score - a.score).slice(0, mostRefined)) {
    const poses = await read(region, more, 'heavy');
    const score = lyingScore(poses);
    if (score <= leastScore) continue;
    const next = middleOf(poses.map((p) => p.next));
    const there = lyingScore(await read(next, more));
    found.push({ region: there > lite ? next : region, both: score * (0.1 + Math.max(lite, there)) });
  }
  const regions = found.sort((a, b) => b.both - a.both).map(({ region }) => region);
  const other = regions.find((region) => drifted(regions[0]!, region));
  return other === undefined ? regions.slice(0, 1) : [regions[0]!, other];
}

/** Of this share of the pictures at least a place must be seen to tell whether something moves there. Chosen. */
const mostlySeen = 0.7;

/**
 * The middle of what moves most in the room, px in a picture in which the camera is where it is most of the time: a bar that goes up and down is seen here
 * and there. The picture's middle where nothing moves. `hides` tells whether something covers a place of a picture.
 */
export function movingMiddle<Picture extends TimedImage>(
  frames: readonly Picture[],
  path: readonly CameraStep[],
  hides: (frame: Picture, x: number, y: number) => boolean = () => false,
): { x: number; y: number } {
  const { widthPx, heightPx } = frames[0]!;
  const sway = swayOf(path);
  const levelAt = (frame: Picture, x: number, y: number) => {
    const by = sway(frame.timeS);
    const [u, v] = [x + Math.round(by.x * widthPx), y + Math.round(by.y * widthPx)];
    const inside = u >= 0 && v >= 0 && u < widthPx && v < heightPx;
    return inside && !hides(frame, u, v) ? frame.data[3 * (v * widthPx + u) + 1]! : null;
  };
  const cellPx = Math.max(widthPx, heightPx) / cellsLong;
  const columns = Math.floor(widthPx / cellPx);
  const rowsDown = Math.floor(heightPx / cellPx);
  const cells = Array.from({ length: columns * rowsDown }, (_, i) => {
    const x = Math.floor(((i % columns) + 0.5) * cellPx);
    const y = Math.floor((Math.floor(i / columns) + 0.5) * cellPx);
    const levels = frames.map((frame) => levelAt(frame, x, y));
    const seen = levels.filter((level) => level !== null);
    return { x, y, range: seen.length < mostlySeen * levels.length ? 0 : rangeOf(seen) };
  });
  const most = Math.max(...cells.map((c) => c.range));
  const moving = cells.filter((c) => c.range > strong * most);
  if (moving.length === 0) return { x: widthPx / 2, y: heightPx / 2 };
  return { x: median(moving.map((c) => c.x)), y: median(moving.map((c) => c.y)) };
}

/** The middle of regions of someone who stays in their place. */
function middleOf(regions: readonly Region[]): Region {
  const of = (key: 'cx' | 'cy' | 'sidePx') => median(regions.map((r) => r[key]));
  const [x, y] = [Math.cos, Math.sin].map((f) => median(regions.map((r) => f(r.angleRad))));
  return { cx: of('cx'), cy: of('cy'), sidePx: of('sidePx'), angleRad: Math.atan2(y!, x!) };
}

import type { PoseEngine } from '../pose/engine.ts';
import { samePlace } from '../pose/regions.ts';
import type { Region, RgbImage } from '../pose/types.ts';
import { boxOf, type Course, followedS, lengthS, nearest } from './course.ts';
import { movingMiddle, type TimedImage } from './lying-search.ts';
import { type CameraStep, type Place, seenAlong } from './steadiness.ts';

/**
 * Squares around what moves most, shares of the picture's longer side; the detector looks into each in so many pictures and must see somebody in so many.
 * Chosen.
 */
const aside = { sides: [0.2, 0.3, 0.45], looks: 8, least: 3, threshold: 0.3, nearS: 0.5 };
/** Whoever was followed for this share of the clip is painted over, and so much of their height above the joints, where the crown is. Chosen. */
const painted = { share: 0.5, crown: 0.1, level: 128 };

/** Whether somebody who was followed was in a region at about that time. */
const isFollowed = ({ people }: Course, timeS: number, region: Region) =>
  people.some(({ samples }) => samples.some((s) => Math.abs(s.timeS - timeS) < aside.nearS && samePlace(s.pose.next, region)));

/** An upright part of a picture, whole px, from one edge up to the other. */
type Cover = { left: number; right: number; top: number; bottom: number };

/** Where those who were followed all along are in a picture at a time: who stands nearer is all that the detector sees beside them. */
function coverOf(course: Course): (picture: RgbImage, timeS: number) => Cover[] {
  const all = course.people.filter(({ samples }) => followedS(samples) > painted.share * lengthS(course));
  return ({ widthPx, heightPx }, timeS) =>
    all
      .map(({ samples }) => nearest(samples, timeS))
      .filter((sample) => Math.abs(sample.timeS - timeS) < aside.nearS)
      .map((sample) => {
        const box = boxOf(sample);
        const within = (value: number, most: number) => Math.max(0, Math.min(most, Math.round(value)));
        return {
          left: within(box.x, widthPx),
          right: within(box.x + box.widthPx, widthPx),
          top: within(box.y - painted.crown * box.heightPx, heightPx),
          bottom: within(box.y + box.heightPx, heightPx),
        };
      });
}

/** A picture with parts of it painted over. */
function paintedOver(picture: RgbImage, covers: readonly Cover[]): RgbImage {
  if (covers.length === 0) return picture;
  const data = Uint8Array.from(picture.data);
  for (const { left, right, top, bottom } of covers)
    for (let y = top; y < bottom; y++)
      data.fill(painted.level, 3 * (y * picture.widthPx + left), 3 * (y * picture.widthPx + right));
  return { ...picture, data };
}

/** A picture of the clip with what covers it. */
type Covered = TimedImage & { covers: Cover[] };

/**
 * Where somebody moves whom the detector did not see beside one who is nearer to the camera, as a square around them when the camera is where it mostly
 * is; null where nobody is. `course`: those who were followed; `path`: the camera's.
 */
export async function findAside(
  frames: readonly TimedImage[],
  course: Course,
  path: readonly CameraStep[],
  engine: PoseEngine,
  signal: AbortSignal,
): Promise<Region | null> {
  const first = frames[0];
  if (first === undefined) return null;
  const cover = coverOf(course);
  const covered = frames.map((frame) => ({ ...frame, covers: cover(frame, frame.timeS) }));
  const isCovered = ({ covers }: Covered, x: number, y: number) =>
    covers.some(({ left, right, top, bottom }) => x >= left && x < right && y >= top && y < bottom);
  const { x: cx, y: cy } = movingMiddle(covered, path, isCovered);
  const some = Array.from({ length: aside.looks }, (_, i) => {
    const { covers, ...frame } = covered[Math.floor(((i + 0.5) * frames.length) / aside.looks)]!;
    return { timeS: frame.timeS, picture: paintedOver(frame, covers) };
  });
  const seenIn = seenAlong(path);
  let found: { square: Region; seen: number } | null = null;
  for (const side of aside.sides) {
    const square = { cx, cy, sidePx: side * Math.max(first.widthPx, first.heightPx), angleRad: 0 };
    let seen = 0;
    for (const { timeS, picture } of some) {
      signal.throwIfAborted();
      const people = await engine.detect(picture, { threshold: aside.threshold, region: seenIn(square, picture, timeS) });
      if (people.some(({ region }) => !isFollowed(course, timeS, region))) seen++;
    }
    if (seen > (found?.seen ?? aside.least - 1)) found = { square, seen };
  }
  return found?.square ?? null;
}

/** An engine whose detector looks only into a place, unless it is asked for another one, and not at those who were followed all along. */
export function seeingOthers(engine: PoseEngine, { region, path }: Place, course: Course): PoseEngine {
  const cover = coverOf(course);
  const seenIn = seenAlong(path);
  return {
    ...engine,
    detect: (picture: RgbImage & { timeS?: number }, asked) => {
      const { timeS } = picture;
      if (timeS === undefined) return engine.detect(picture, { region, ...asked });
      return engine.detect(paintedOver(picture, cover(picture, timeS)), { region: seenIn(region, picture, timeS), ...asked });
    },
  };
}

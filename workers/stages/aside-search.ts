import type { PoseEngine } from '../pose/engine.ts';
import { samePlace } from '../pose/regions.ts';
import type { Region } from '../pose/types.ts';
import type { Course } from './course.ts';
import { movingMiddle, type TimedImage } from './lying-search.ts';

/**
 * Squares around what moves most, shares of the picture's longer side; the detector looks into each in so many pictures and must see somebody in so many.
 * Chosen.
 */
const aside = { sides: [0.2, 0.3, 0.45], looks: 8, least: 3, threshold: 0.3, nearS: 0.5 };

/** Whether somebody who was followed was in a region at about that time. */
const isFollowed = ({ people }: Course, timeS: number, region: Region) =>
  people.some(({ samples }) => samples.some((s) => Math.abs(s.timeS - timeS) < aside.nearS && samePlace(s.pose.next, region)));

/**
 * Where somebody moves whom the detector did not see beside one who is nearer to the camera, as a square around them; null where nobody is. `course`:
 * those who were followed.
 */
export async function findAside(
  frames: readonly TimedImage[],
  course: Course,
  engine: PoseEngine,
  signal: AbortSignal,
): Promise<Region | null> {
  const first = frames[0];
  if (first === undefined) return null;
  const { x: cx, y: cy } = movingMiddle(frames);
  const some = Array.from({ length: aside.looks }, (_, i) => frames[Math.floor(((i + 0.5) * frames.length) / aside.looks)]!);
  let found: { square: Region; seen: number } | null = null;
  for (const side of aside.sides) {
    const square = { cx, cy, sidePx: side * Math.max(first.widthPx, first.heightPx), angleRad: 0 };
    let seen = 0;
    for (const frame of some) {
      signal.throwIfAborted();
      const people = await engine.detect(frame, { threshold: aside.threshold, region: square });
      if (people.some(({ region }) => !isFollowed(course, frame.timeS, region))) seen++;
    }
    if (seen > (found?.seen ?? aside.least - 1)) found = { square, seen };
  }
  return found?.square ?? null;
}

/** An engine whose detector looks only into a square, unless it is asked for another one. */
export const seeingOnly = (engine: PoseEngine, region: Region): PoseEngine => ({
  ...engine,
  detect: (picture, asked) => engine.detect(picture, { region, ...asked }),
});

import type { PoseEngine } from '../pose/engine.ts';
import { samePlace } from '../pose/regions.ts';
import type { Region, RgbImage } from '../pose/types.ts';
import { boxOf, type Course, followedS, lengthS, type Sample } from './course.ts';
import { movingMiddle, type TimedImage } from './lying-search.ts';
import type { CameraStep } from './steadiness.ts';

/**
 * Squares around what moves most, shares of the picture's longer side; the detector looks into each in so many pictures and must see somebody in so many.
 * Chosen.
 */
const aside = { sides: [0.2, 0.3, 0.45], looks: 8, least: 3, threshold: 0.3, nearS: 0.5 };
/** Whoever was followed for this share of the clip is painted over, and so much of their height above the joints, where the crown is. Chosen. */
const painted = { share: 0.5, crown: 0.1, level: 128 };

/** What somebody's body was at about a time. */
const nearTo = (samples: readonly Sample[], timeS: number) =>
  samples
    .filter((s) => Math.abs(s.timeS - timeS) < aside.nearS)
    .reduce<Sample | null>((a, b) => (a && Math.abs(a.timeS - timeS) <= Math.abs(b.timeS - timeS) ? a : b), null);

/** Whether somebody who was followed was in a region at about that time. */
const isFollowed = ({ people }: Course, timeS: number, region: Region) =>
  people.some(({ samples }) => samples.some((s) => Math.abs(s.timeS - timeS) < aside.nearS && samePlace(s.pose.next, region)));

/** Where those who were followed all along are in a picture, px: who stands nearer is all that the detector sees beside them. */
function coveredIn(course: Course, { widthPx, heightPx }: RgbImage, timeS: number) {
  const all = course.people.filter(({ samples }) => followedS(samples) > painted.share * lengthS(course));
  return all.flatMap(({ samples }) => {
    const sample = nearTo(samples, timeS);
    if (sample === null) return [];
    const box = boxOf(sample);
    const within = (value: number, most: number) => Math.max(0, Math.min(most, Math.round(value)));
    return [
      {
        left: within(box.x, widthPx),
        right: within(box.x + box.widthPx, widthPx),
        top: within(box.y - painted.crown * box.heightPx, heightPx),
        bottom: within(box.y + box.heightPx, heightPx),
      },
    ];
  });
}

/** A picture with those painted over who were followed all along. */
function paintedOver(course: Course, picture: RgbImage, timeS: number): RgbImage {
  const boxes = coveredIn(course, picture, timeS);
  if (boxes.length === 0) return picture;
  const data = Uint8Array.from(picture.data);
  for (const { left, right, top, bottom } of boxes)
    for (let y = top; y < bottom; y++)
      data.fill(painted.level, 3 * (y * picture.widthPx + left), 3 * (y * picture.widthPx + right));
  return { ...picture, data };
}

/** The middle of what moves beside those who were followed, px, whatever the camera does. */
function movingAside(frames: readonly TimedImage[], course: Course, path: readonly CameraStep[]) {
  const steps = new Map(path.map((step) => [step.timeS, step]));
  const seen = new Map(
    frames.map((frame) => {
      const { dxShare, dyShare } = steps.get(frame.timeS) ?? { dxShare: 0, dyShare: 0 };
      const shift = { x: Math.round(dxShare * frame.widthPx), y: Math.round(dyShare * frame.widthPx) };
      return [frame, { shift, boxes: coveredIn(course, frame, frame.timeS) }] as const;
    }),
  );
  return movingMiddle(frames, (frame, x, y) => {
    const { shift, boxes } = seen.get(frame)!;
    const [u, v] = [x + shift.x, y + shift.y];
    if (u < 0 || v < 0 || u >= frame.widthPx || v >= frame.heightPx) return null;
    if (boxes.some(({ left, right, top, bottom }) => u >= left && u < right && v >= top && v < bottom)) return null;
    return frame.data[3 * (v * frame.widthPx + u) + 1]!;
  });
}

/**
 * Where somebody moves whom the detector did not see beside one who is nearer to the camera, as a square around them; null where nobody is. `course`:
 * those who were followed; `path`: the camera's.
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
  const { x: cx, y: cy } = movingAside(frames, course, path);
  const some = Array.from({ length: aside.looks }, (_, i) => frames[Math.floor(((i + 0.5) * frames.length) / aside.looks)]!).map(
    (frame) => ({ timeS: frame.timeS, picture: paintedOver(course, frame, frame.timeS) }),
  );
  let found: { square: Region; seen: number } | null = null;
  for (const side of aside.sides) {
    const square = { cx, cy, sidePx: side * Math.max(first.widthPx, first.heightPx), angleRad: 0 };
    let seen = 0;
    for (const { timeS, picture } of some) {
      signal.throwIfAborted();
      const people = await engine.detect(picture, { threshold: aside.threshold, region: square });
      if (people.some(({ region }) => !isFollowed(course, timeS, region))) seen++;
    }
    if (seen > (found?.seen ?? aside.least - 1)) found = { square, seen };
  }
  return found?.square ?? null;
}

/** An engine whose detector looks only into a square, unless it is asked for another one, and not at those who were followed all along. */
export const seeingOthers = (engine: PoseEngine, region: Region, course: Course): PoseEngine => ({
  ...engine,
  detect: (picture: RgbImage & { timeS?: number }, asked) =>
    engine.detect(picture.timeS === undefined ? picture : paintedOver(course, picture, picture.timeS), { region, ...asked }),
});

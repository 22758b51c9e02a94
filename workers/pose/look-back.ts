import type { PoseEngine } from './engine.ts';
import { samePose } from './regions.ts';
import { clearness, type Pose, type Region, type RgbImage } from './types.ts';

/** A picture of a clip and its time, seconds. */
type TimedImage = RgbImage & { timeS: number };

/** One person's pose in one picture, and the region that it was read from. */
type Look = { frame: TimedImage; region: Region; pose: Pose };

/** Below this presence nobody is there any more. */
const leastPresence = 0.5;

/**
 * Follows a person back in time, from the region in which they are seen in the last of the `frames` (in order of time): who is found in the middle of
 * something, or as a part of themselves, is seen better from a clear picture a little later. Latest first; ends where nobody is seen.
 */
export async function lookBack(engine: PoseEngine, frames: readonly TimedImage[], from: Region): Promise<Look[]> {
  const looks: Look[] = [];
  let region = from;
  for (const frame of frames.toReversed()) {
    const pose = await engine.landmarks(frame, region, 'lite');
    if (pose.presence < leastPresence) break;
    looks.push({ frame, region, pose });
    region = pose.next;
  }
  return looks;
}

/** So much clearer must what is seen looking back be than what was seen at first. Chosen. */
const clearer = 0.05;

/**
 * Of looks back (latest first) those that belong in the place of a person's first poses: from the first time back at which they show another body, if
 * they show it more clearly; else those of before the person was found. `seenAt`: the pose of a time, if there was one.
 */
export function betterLooks(looks: readonly Look[], seenAt: (timeS: number) => Pose | undefined): Look[] {
  const pairs = looks.map((look) => ({ look, seen: seenAt(look.frame.timeS) }));
  const differs = pairs.findIndex(({ look, seen }) => seen !== undefined && !samePose(seen, look.pose, look.region.sidePx));
  const before = looks.slice(pairs.findLastIndex(({ seen }) => seen !== undefined) + 1);
  if (differs < 0) return before;
  const mean = (poses: Pose[]) => poses.reduce((sum, pose) => sum + clearness(pose), 0) / poses.length;
  const both = pairs.slice(differs).filter(({ seen }) => seen !== undefined);
  const isClearer = mean(both.map(({ look }) => look.pose)) > mean(both.map(({ seen }) => seen!)) + clearer;
  return isClearer ? pairs.slice(differs).map(({ look }) => look) : [];
}

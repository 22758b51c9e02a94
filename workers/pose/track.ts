import { wholePicture } from './detector.ts';
import type { PoseEngine } from './engine.ts';
import { samePlace, sameRegion } from './regions.ts';
import {
  chooseMain,
  defaultTrackOptions,
  followed,
  hasLeft,
  mergeDoubles,
  noTracks,
  sees,
  type Track,
  type TrackOptions,
  takeDetections,
  takePose,
  turnedBack,
} from './tracks.ts';
import { clearness, type Detection, type Pose, type Region, type RgbImage } from './types.ts';

/** One person's pose in one frame. */
export type TrackedPose = {
  /** The same for one person through the clip. */
  id: number;
  /** Whether this was the main person at that moment; judge again over the whole clip. */
  main: boolean;
  /** The region that the pose was read from: `cropRegion(frame, region)` gives the crop for the heavy model. */
  region: Region;
  pose: Pose;
  /** Since when this person's poses before this one were somebody else's, seconds; undefined when they were not. */
  strayedS?: number;
};

/** Follows people through the frames of one clip. */
export type Tracker = {
  /** Takes the next frame (times must grow) and gives the people looked at in it; others may be there. Await before the next push. */
  push(frame: RgbImage, timeS: number): Promise<TrackedPose[]>;
};

/** Starts a tracker for a still camera at about 15 frames a second, with the light landmark model. */
export function createTracker(engine: PoseEngine, given: Partial<TrackOptions> = {}): Tracker {
  const options = { ...defaultTrackOptions, ...given };
  const tracks = noTracks();
  let frameNumber = -1;
  let detectedS = Number.NEGATIVE_INFINITY;
  let searchedS = Number.NEGATIVE_INFINITY;
  let justLost = false;

  return {
    push: async (frame, timeS) => {
      frameNumber++;
      const out = new Map<number, TrackedPose>();
      const look = async (track: Track, region: Region, clearer = 0) => {
        const pose = await engine.landmarks(frame, region, 'lite');
        const before = out.get(track.id);
        const shrunk = before && region.sidePx > 1.5 * before.region.sidePx && pose.presence > 0.5;
        if (before && !shrunk && clearness(before.pose) + clearer >= clearness(pose)) return;
        track.region = region;
        if (takePose(tracks, track, pose, timeS, options)) out.set(track.id, { id: track.id, main: false, region, pose });
        else justLost ||= track.state === 'lost';
      };

      for (const track of followed(tracks)) {
        if (followed(tracks).length > 1 && track.id !== tracks.mainId && (frameNumber + track.id) % options.othersEvery !== 0)
          continue;
        await look(track, track.region);
        const back = turnedBack(track);
        if (back !== null) await look(track, back, clearerBack);
      }
      const nobody = followed(tracks).length === 0;
      const main = tracks.all.find((track) => track.id === tracks.mainId);
      const astray = main !== undefined && (main.seenS < timeS || hasLeft(main));
      const missed = astray && timeS - detectedS >= options.detectEveryS / 4;
      if (nobody || justLost || missed || timeS - detectedS >= options.detectEveryS - 1e-6) {
        justLost = false;
        detectedS = timeS;
        let detections = await engine.detect(frame, { threshold: options.threshold });
        if (detections.length === 0 && nobody && timeS - searchedS >= options.detectEveryS / 2) {
          searchedS = timeS;
          detections = await searchHarder(engine, frame, tracks.all, options.retryThreshold);
        }
        if (main?.state === 'followed' && !detections.some((detection) => sees(detection, main)))
          detections = [...detections, ...(await searchNear(engine, frame, main, options.threshold))];
        for (const track of tracks.all) {
          if (track.state !== 'lost' || timeS - track.seenS > again.withinS || track.seenS - track.firstS < again.followedS)
            continue;
          const there = await searchNear(engine, frame, track, options.threshold, again.sides);
          detections = [
            ...detections,
            ...there.filter(({ region: r }) => samePlace(r, track.region) && !detections.some((d) => samePlace(d.region, r))),
          ];
        }
        const looks = takeDetections(tracks, detections, timeS, options.maxPeople);
        for (const { track, region, strayedS } of looks) {
          if (strayedS !== undefined) out.delete(track.id);
          await look(track, region);
          const found = out.get(track.id);
          if (found && strayedS !== undefined) found.strayedS = strayedS;
        }
      }
      mergeDoubles(tracks);
      chooseMain(tracks);
      const alive = new Set(followed(tracks).map((track) => track.id));
      return [...out.values()].filter(({ id }) => alive.has(id)).map((seen) => ({ ...seen, main: seen.id === tracks.mainId }));
    },
  };
}

/** A square of this many sides of a person's region is looked at where that is at most this share of the whole picture's: there the detector sees more. Chosen. */
const near = { sides: 2, leastGain: 0.6 };

/** So much clearer must somebody be seen upright who seemed turned over. Chosen. */
const clearerBack = 0.05;

/** Somebody who was followed for so long and lost no longer ago than so is looked for in their place, seconds. Chosen. */
const again = { followedS: 1.5, withinS: 6, sides: 1.3 };

/** Who is seen close to somebody too small for the detector in the whole picture. */
async function searchNear(
  engine: PoseEngine,
  frame: RgbImage,
  { region }: Track,
  threshold: number,
  sides = near.sides,
): Promise<Detection[]> {
  const sidePx = sides * region.sidePx;
  if (sidePx > near.leastGain * wholePicture(frame).sidePx) return [];
  return engine.detect(frame, { threshold, region: { ...region, sidePx, angleRad: 0 } });
}

/** Second looks when nobody is found: a lower threshold, then enlarged squares around where people were lost, then thirds of the picture. */
async function searchHarder(engine: PoseEngine, frame: RgbImage, tracks: Track[], threshold: number): Promise<Detection[]> {
  const whole = await engine.detect(frame, { threshold });
  if (whole.length > 0) return whole;
  const regions = tracks
    .filter((t) => t.state === 'lost')
    .map((t) => ({ ...t.region, sidePx: t.region.sidePx * 1.3, angleRad: 0 }));
  const found: Detection[] = [];
  for (const region of [...regions, ...thirds(frame)]) {
    for (const detection of await engine.detect(frame, { threshold, region }))
      if (!found.some((other) => sameRegion(other.region, detection.region))) found.push(detection);
    if (found.length > 0) break;
  }
  return found.toSorted((a, b) => b.score - a.score);
}

/** Squares of half the longer side along the picture's middle line, the centre first. */
function thirds(frame: RgbImage): Region[] {
  const { cx, cy, sidePx } = wholePicture(frame);
  const portrait = frame.heightPx > frame.widthPx;
  return [0, -1, 1].map((k) => ({
    cx: portrait ? cx : cx + (k * sidePx) / 4,
    cy: portrait ? cy + (k * sidePx) / 4 : cy,
    sidePx: sidePx / 2,
    angleRad: 0,
  }));
}

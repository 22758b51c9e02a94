import type { Frame } from '../media/decode.ts';
import { cropRegion } from '../pose/crop.ts';
import type { PoseEngine } from '../pose/engine.ts';
import { betterLooks, lookBack } from '../pose/look-back.ts';
import { createTracker, type TrackedPose, type Tracker } from '../pose/track.ts';
import type { Pose, Region } from '../pose/types.ts';
import type { Course, Person, Sample } from './course.ts';
import { type Place, seenAlong } from './steadiness.ts';

interface Kept {
  personId: number;
  timeS: number;
  region: Region;
  crop: Uint8Array;
  /** What the heavy model saw, once it has looked. */
  close?: Pose;
}

/** Follows people through the frames and keeps crops for the heavy model until the lift is known. */
export interface Watch {
  /** Takes the next frame and gives the people in it. */
  push(frame: Frame): Promise<TrackedPose[]>;
  course(): Course;
  /** Poses of the heavy model for one person between two times, at most `most`, evenly chosen among the kept crops. */
  lookClosely(personId: number, fromS: number, toS: number, most: number): Promise<Sample[]>;
}

/** Crops kept at most, of everybody and of one in a fixed place, of whom several may be watched; past it every second one is dropped (196 KB each). */
const mostCrops = { all: 260, fixed: 130 };
/** Least time between two crops of one person at first, just under three frames of 1/15 s; doubled when crops are dropped. */
const firstEveryS = 0.19;
/**
 * Once the main person has been followed for so long, they are followed back too, through the frames of so long (0.4 MB each), seconds; and again where
 * their region has grown by so much in that time, for a part of the body was followed before; at most so often. Chosen.
 */
const back = { followedS: 1.5, framesS: 3, grown: 1.4, most: 4 };
/** Presence from which a fixed square holds somebody. */
const leastPresence = 0.5;

/** Reads one square of the room in every frame, for someone who stays in their place. */
function fixedTracker(engine: PoseEngine, place: Place): Tracker {
  const seenIn = seenAlong(place.path);
  return {
    push: async (frame, timeS) => {
      const region = seenIn(place.region, frame, timeS);
      const pose = await engine.landmarks(frame, region, 'lite');
      return pose.presence < leastPresence ? [] : [{ id: 0, main: true, region, pose }];
    },
  };
}

/** Watches all people who are found, or with `place` only whoever is there. */
export function createWatch(engine: PoseEngine, place: Place | null = null): Watch {
  const tracker = place === null ? createTracker(engine) : fixedTracker(engine, place);
  const people = new Map<number, Person>();
  const timesS: number[] = [];
  const lastKeptS = new Map<number, number>();
  let size = { widthPx: 0, heightPx: 0 };
  let everyS = firstEveryS;
  let kept: Kept[] = [];
  let recent: Frame[] = [];
  const lookedBackS = new Map<number, number[]>();

  const keep = (frame: Frame, { id, region }: TrackedPose) => {
    if (frame.timeS - (lastKeptS.get(id) ?? Number.NEGATIVE_INFINITY) < everyS) return;
    lastKeptS.set(id, frame.timeS);
    kept.push({ personId: id, timeS: frame.timeS, region, crop: cropRegion(frame, region) });
    if (kept.length <= (place === null ? mostCrops.all : mostCrops.fixed)) return;
    const seen = new Map<number, number>();
    kept = kept.filter(({ personId }) => {
      const nth = seen.get(personId) ?? 0;
      seen.set(personId, nth + 1);
      return nth % 2 === 0;
    });
    everyS *= 2;
  };

  /** Whether it is time to look back at somebody who is seen in a region now. */
  const isDue = ({ id, samples }: Person, { sidePx }: Region, timeS: number) => {
    const done = lookedBackS.get(id) ?? [];
    const before = samples.findLast((s) => s.timeS <= timeS - back.followedS);
    if (before === undefined || done.length >= back.most || timeS - (done.at(-1) ?? 0) < back.followedS) return false;
    return done.length === 0 || sidePx > back.grown * before.pose.next.sidePx;
  };

  const seeBefore = async ({ id, samples }: Person, region: Region) => {
    const seen = new Map(samples.map(({ timeS, pose }) => [timeS, pose]));
    const better = betterLooks(await lookBack(engine, recent, region), (timeS) => seen.get(timeS)).toReversed();
    const [first, last] = [better[0], better.at(-1)];
    if (first === undefined || last === undefined) return;
    const [fromS, toS] = [first.frame.timeS, last.frame.timeS];
    const outside = (timeS: number) => timeS < fromS || timeS > toS;
    const looks = better.map(({ frame: { timeS }, pose }) => ({ timeS, pose }));
    const rest = samples.filter(({ timeS }) => outside(timeS));
    people.set(id, { id, samples: [...rest, ...looks].sort((a, b) => a.timeS - b.timeS) });
    kept = kept.filter(({ personId, timeS }) => personId !== id || outside(timeS));
    let nextS = fromS;
    for (const { frame, region } of better) {
      if (frame.timeS < nextS) continue;
      nextS = frame.timeS + everyS;
      kept.push({ personId: id, timeS: frame.timeS, region, crop: cropRegion(frame, region) });
    }
    kept.sort((a, b) => a.timeS - b.timeS);
  };

  /** Forgets what was seen of somebody after a time: it was somebody else. */
  const forget = (person: Person, afterS: number) => {
    person.samples = person.samples.filter(({ timeS }) => timeS <= afterS);
    kept = kept.filter(({ personId, timeS }) => personId !== person.id || timeS <= afterS);
  };

  return {
    push: async (frame) => {
      size = { widthPx: frame.widthPx, heightPx: frame.heightPx };
      timesS.push(frame.timeS);
      const found = await tracker.push(frame, frame.timeS);
      for (const one of found) {
        const person = people.get(one.id) ?? { id: one.id, samples: [] };
        people.set(one.id, person);
        if (one.strayedS !== undefined) forget(person, one.strayedS);
        person.samples.push({ timeS: frame.timeS, pose: one.pose });
        keep(frame, one);
      }
      // who is read in a fixed place was there from the start
      if (place !== null) return found;
      recent = [...recent.filter(({ timeS }) => timeS >= frame.timeS - back.framesS), frame];
      const main = found.find((one) => one.main);
      const person = main && people.get(main.id)!;
      if (person && isDue(person, main.region, frame.timeS)) {
        lookedBackS.set(person.id, [...(lookedBackS.get(person.id) ?? []), frame.timeS]);
        await seeBefore(person, main.pose.next);
      }
      return found;
    },
    course: () => ({ ...size, timesS, people: [...people.values()] }),
    lookClosely: async (personId, fromS, toS, most) => {
      const there = kept.filter((k) => k.personId === personId && k.timeS >= fromS && k.timeS <= toS);
      const chosen =
        there.length <= most ? there : Array.from({ length: most }, (_, i) => there[Math.floor((i * there.length) / most)]!);
      const out: Sample[] = [];
      for (const one of chosen) {
        one.close ??= await engine.landmarksFromCrop(one.crop, one.region, 'heavy');
        out.push({ timeS: one.timeS, pose: one.close, square: one });
      }
      return out;
    },
  };
}

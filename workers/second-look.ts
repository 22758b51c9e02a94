import { known } from '../src/facts/fact.ts';
import type { Facts } from '../src/facts/facts.ts';
import type { Container } from './media/container.ts';
import { decodeFrames } from './media/decode.ts';
import type { PoseEngine } from './pose/engine.ts';
import { findAside, seeingOthers } from './stages/aside-search.ts';
import { createBarFlow } from './stages/bar-flow.ts';
import type { Course } from './stages/course.ts';
import { findLying, type TimedImage } from './stages/lying-search.ts';
import { type Around, measurePeople } from './stages/measure.ts';
import { createSmallGray } from './stages/small-gray.ts';
import { isStanding } from './stages/stander.ts';
import { facesSomeWay } from './stages/view.ts';
import { createWatch, type Watch } from './stages/watch.ts';

/** The frames that the stages look at: 15 a second is enough for reps, 512 px for a lifter across the room. */
export const sampling = { longSidePx: 512, everyS: 1 / 15, turnDeg: 0 } as const;

/**
 * Below this a bench press may well be read from a part of the lifter, another lift from a spotter who bends over one, and a lift of somebody whom only a
 * search found from somebody else. Chosen.
 */
const sureConfidence = { bench: 0.8, other: 0.6, aside: 0.8 };

/** Below this the reps of a bench press may be only some of them: a lifter found in the middle of a set is found from the start by a search. */
const allReps = 0.5;
const maybeMissed = ({ reps }: Facts) => reps.known && (reps.confidence ?? 1) < allReps;

/** Whether the first look found no lift, or one that may be a bench press seen wrong: unsure, of a body that seems to face every way, or in part. */
export function isDoubtful(facts: Facts): boolean {
  const { lift, view } = facts;
  if (!lift.known || !view.known || (lift.value === 'bench' && maybeMissed(facts))) return true;
  return (lift.confidence ?? 1) < sureConfidence[lift.value === 'bench' ? 'bench' : 'other'];
}

/** Whom the detector could not find is half hidden, and joints that are hidden are guessed, over the picture's edge too: parts are no surer than this. */
const guessedConfidence = 0.5;

/** The facts with less sureness of what is in the picture. */
export function withGuessedParts(facts: Facts): Facts {
  const lessSure = (part: Facts['inFrame']['feet']) =>
    part.known ? { ...part, confidence: Math.min(part.confidence ?? 1, guessedConfidence) } : part;
  const inFrame = Object.fromEntries(Object.entries(facts.inFrame).map(([name, part]) => [name, lessSure(part)]));
  return { ...facts, inFrame: inFrame as Facts['inFrame'] };
}

const sureOf = ({ lift }: Facts) => (lift.known ? (lift.confidence ?? 1) : 0);
const isBench = ({ lift }: Facts) => lift.known && lift.value === 'bench';
const repsOf = ({ reps }: Facts) => (reps.known ? reps.value.length : 0);

/** The facts in which a bench press was found more surely: by the second look only where it read one, of a body that faces some way. */
export function surerOf(first: Facts, second: Facts): Facts {
  const spreadOf = ({ view }: Facts) => (view.known ? (view.spread ?? 0) : Number.POSITIVE_INFINITY);
  // where both saw a bench press, the one that read more of it saw the lifter better; where the first is likely none, the one whose poses agree more
  const agrees = sureOf(first) < sureConfidence.other && spreadOf(second) < spreadOf(first);
  const readsMore = !isBench(first) || agrees || repsOf(second) > repsOf(first);
  const surer = sureOf(second) > Math.max(maybeMissed(first) ? sureConfidence.bench : sureOf(first), sureConfidence.other);
  return isBench(second) && surer && facesSomeWay(second.view) && readsMore ? withGuessedParts(second) : first;
}

/** Of what was read in several places the surest bench press, of equally sure ones that with most reps; undefined where none was read. */
export function mostRead(found: readonly Facts[]): Facts | undefined {
  return found.filter(isBench).sort((a, b) => sureOf(b) - sureOf(a) || repsOf(b) - repsOf(a))[0];
}

/** What a second look begins with. */
interface Seen {
  /** Whom the first look followed. */
  course: Course;
  container: Container;
  frames: readonly TimedImage[];
  engine: PoseEngine;
  around: Omit<Around, 'flow' | 'searched'>;
  signal: AbortSignal;
}

/** Decodes a clip once more for some watches and gives what moves around the hands in each. */
async function watchAgain(watches: readonly Watch[], { container, signal }: Seen) {
  const grayOf = createSmallGray();
  const flows = watches.map(() => createBarFlow());
  await decodeFrames(
    container,
    sampling,
    async (frame) => {
      const gray = grayOf(frame);
      for (const [i, watch] of watches.entries()) {
        const people = await watch.push(frame);
        flows[i]!.push(
          gray,
          people.find(({ main }) => main),
        );
      }
    },
    signal,
  );
  return flows.map((flow) => flow.path());
}

/**
 * Looks again for someone on a bench, whom the detector may have missed for their spotter or for seeing no head; gives the facts in which the
 * lift is surer. Costs one more decoding and some seconds.
 */
export async function searchLying(first: Facts, seen: Seen): Promise<Facts> {
  const { course, container, frames, engine, around, signal } = seen;
  const regions = await findLying(frames, around.path, engine, signal);
  if (regions.length === 0) return first;
  const watches = regions.map((region) => createWatch(engine, { region, path: around.path }));
  const flows = await watchAgain(watches, seen);
  const lift = first.lift.known && first.lift.value !== 'bench' ? first.lift.value : null;
  const found: Facts[] = [];
  for (const [i, watch] of watches.entries()) {
    const [person] = watch.course().people;
    if (person === undefined || isStanding(person, course, lift)) continue;
    found.push(await measurePeople(watch, known(container.facts), { ...around, flow: flows[i]!, searched: true }));
  }
  const best = mostRead(found);
  return best === undefined ? first : surerOf(first, best);
}

/**
 * Looks again for someone beside one who is nearer to the camera, whom alone the detector saw; gives the facts of a lift that is surely one, else the
 * first ones. Costs one more decoding.
 */
export async function searchAside(first: Facts, seen: Seen): Promise<Facts> {
  const { course, container, frames, engine, around, signal } = seen;
  const region = await findAside(frames, course, around.path, engine, signal);
  if (region === null) return first;
  const watch = createWatch(seeingOthers(engine, { region, path: around.path }, course));
  const [flow] = await watchAgain([watch], seen);
  const second = await measurePeople(watch, known(container.facts), { ...around, flow: flow! });
  const { lift } = second;
  return lift.known && lift.value !== 'other' && (lift.confidence ?? 1) >= sureConfidence.aside ? second : first;
}

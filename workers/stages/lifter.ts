import { joint } from '../pose/types.ts';
import type { FlowStep } from './bar-flow.ts';
import { type Course, followedS, lengthS, type Person, visibilityOf } from './course.ts';
import { type Movement, movementOf } from './movement.ts';
import { type Reading, readingsOf } from './reps.ts';
import { median } from './series.ts';

/** The person who lifts, how they move and as which lifts that reads, the likeliest first. */
export interface Lifter {
  person: Person;
  movement: Movement;
  readings: Reading[];
  /** Whether the bar goes with the reps, see `withBar`. */
  byBar?: boolean;
}

/** Fewest poses that make a movement: half a second of the main person. */
const leastSamples = 8;

/**
 * Median presence from which, and up to which, a track shows a person the more: texture that is read as a body moves like anything. Measured during the
 * reps: lifters 0.83 and more, nine in ten 0.95; texture 0.62 to 0.97. `least`: who is the only one is read all the same.
 */
const there = { none: 0.8, sure: 0.95, least: 0.1 };

/** How surely a track shows a person while it reads as a lift, 0..1. */
function surelyThere({ samples }: Person, { startS, stepS }: Movement, { cycles }: Reading): number {
  const [fromS, toS] = [cycles[0]!.start, cycles.at(-1)!.end].map((step) => startS + step * stepS);
  const during = samples.filter(({ timeS }) => timeS >= fromS! && timeS <= toS!);
  const presence = median(during.map((s) => s.pose.presence));
  return Math.min(1, Math.max(there.least, (presence - there.none) / (there.sure - there.none)));
}

/** The lifter among all people: who moves like a lift, the nearer (larger) person before the farther. null when nobody does. */
export function lifterOf(course: Course, flow: readonly FlowStep[] = []): Lifter | null {
  let best: { lifter: Lifter; weight: number } | null = null;
  for (const person of course.people) {
    if (person.samples.length < leastSamples) continue;
    const movement = movementOf(person, flow);
    const readings = readingsOf(movement);
    const [likeliest] = readings;
    if (likeliest === undefined) continue;
    const weight = likeliest.score * Math.sqrt(movement.pxPerM / course.heightPx) * surelyThere(person, movement, likeliest);
    if (weight > (best?.weight ?? 0)) best = { lifter: { person, movement, readings }, weight };
  }
  return best?.lifter ?? null;
}

const limbs = [joint.elbowL, joint.elbowR, joint.wristL, joint.wristR, joint.kneeL, joint.kneeR, joint.ankleL, joint.ankleR];
/** What makes a person of a track: the landmark model sees shapes in any texture for a moment, but neither for long nor with limbs. */
const person = { presence: 0.8, limbs: 0.35, share: 0.15 };

/** Whether a track shows a person and no texture. */
function isPerson(track: Person, course: Course): boolean {
  const seen = median(track.samples.map(({ pose }) => median(limbs.map((row) => visibilityOf(pose, row)))));
  const presence = median(track.samples.map((s) => s.pose.presence));
  return followedS(track.samples) > person.share * lengthS(course) && presence > person.presence && seen > person.limbs;
}

/** Who would be the lifter if there were a lift: seen longest and largest; null when nobody was seen. */
export function mainPersonOf(course: Course): Person | null {
  const people = course.people.filter((p) => p.samples.length >= leastSamples && isPerson(p, course));
  const size = (p: Person) => followedS(p.samples) * movementOf(p).pxPerM;
  return people.reduce<Person | null>((a, b) => (a === null || size(b) > size(a) ? b : a), null);
}

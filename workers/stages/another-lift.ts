import { known } from '../../src/facts/fact.ts';
import type { LiftId, Rep } from '../../src/facts/facts.ts';
import type { Course, Person, Sample } from './course.ts';
import type { Lifter } from './lifter.ts';
import { movementOf } from './movement.ts';
import { bringsBarUp, pullsAgain, pullsOf } from './pulls.ts';
import { repeatsItself } from './reps.ts';
import { round2 } from './series.ts';
import { standsInView } from './stander.ts';

/**
 * Someone who stands in plain view and goes up and down again and again, yet moves like none of the lifts, does another one. Chosen: likelier than
 * not, and below what spares a second search.
 */
export const otherConfidence = 0.55;
export const otherLift = known<LiftId>('other', { confidence: otherConfidence });
export const doesAnother = (person: Person, course: Course) => standsInView(person, course) && repeatsItself(movementOf(person));

/**
 * Somebody whose hands come up to the shoulders again and again does another lift. Measured: so in 21 of 22 rendered clips of cleans, snatches and rows,
 * in none of 161 of the four lifts.
 */
export const pulledLift = known<LiftId>('other', { confidence: 0.9 });

/** A lift by such pulls begins and ends so long before the first and after the last one, seconds; those of two models are the same when no farther off. Chosen. */
const [aroundS, sameS] = [2, 0.7];

/**
 * From when to when a lifter pulls the bar up to the shoulders or higher again and again, seconds, as both models tell, or the light one and the bar, with
 * the heavy one's looks at it; null where they do not, as in the lifts that are known. `lookClosely`: what the heavy model sees of the lifter between two
 * times; `asStill`: the same upright and as a still camera would have seen it.
 */
export async function pulledIn(
  { person, movement }: Lifter,
  reps: readonly Rep[],
  lookClosely: (personId: number, fromS: number, toS: number) => Promise<Sample[]>,
  asStill: (samples: Sample[]) => Sample[],
): Promise<{ startS: number; endS: number; looks: Sample[] } | null> {
  const byLight = pullsOf(movement, reps);
  if (!pullsAgain(byLight, reps)) return null;
  const span = (timesS: readonly number[]) => [timesS[0]! - aroundS, timesS.at(-1)! + aroundS] as const;
  const looks = await lookClosely(person.id, ...span(byLight));
  if (looks.length < 2) return null;
  const byHeavy = pullsOf(movementOf({ id: person.id, samples: asStill(looks) }), reps);
  // plates hide the hands, but not the bar
  const isPull = (timeS: number) => byHeavy.some((also) => Math.abs(also - timeS) < sameS) || bringsBarUp(movement, timeS);
  const both = byLight.filter(isPull);
  if (!pullsAgain(both, reps)) return null;
  const [fromS, toS] = span(both);
  const lastS = movement.startS + (movement.wrist.length - 1) * movement.stepS;
  return { startS: round2(Math.max(movement.startS, fromS)), endS: round2(Math.min(lastS, toS)), looks };
}

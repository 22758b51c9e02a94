import type { LiftId } from '../facts/facts.ts';
import { bench } from './bench.ts';
import { deadlift } from './deadlift.ts';
import type { LiftData } from './lift-data.ts';
import { press } from './press.ts';
import { squat } from './squat.ts';

export type { LiftData, Zone } from './lift-data.ts';
export { otherNames } from './other.ts';

/** All known lifts, in the order of a meet with the press before the deadlift. */
export const lifts: readonly LiftData[] = [squat, bench, press, deadlift];

/** Data of a lift; null for `other`, of which nothing is known. */
export function liftOf(id: LiftId | null): LiftData | null {
  return lifts.find((lift) => lift.id === id) ?? null;
}

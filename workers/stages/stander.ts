import type { LiftId } from '../../src/facts/facts.ts';
import { joint, type Pose, pointWidth } from '../pose/types.ts';
import { type Course, followedS, lengthS, middleWorld, type Person, pxPerMetre, visibilityOf } from './course.ts';
import { median } from './series.ts';

/** Sine of the trunk's angle to the horizontal, 0..1, over all poses. */
export const steepnessOf = (poses: readonly Pose[]) =>
  Math.abs(
    median(
      poses.map((p) => {
        const [x, y, z] = middleWorld(p, joint.shoulderL, joint.shoulderR);
        return -y / Math.max(1e-6, Math.hypot(x, y, z));
      }),
    ),
  );

/**
 * Who stands in plain view: upright (a sine), followed for most of the clip, with a foot plainly seen, which a bench and who lies on it hide of a
 * spotter. Measured: a foot of those who stand is seen with 0.92 or more, one of spotters behind a bench with 0.8 or less.
 */
const plain = { share: 0.6, upright: 0.8, foot: 0.9 };

/** Whether someone stands in plain view for most of a clip. */
export function standsInView({ samples }: Person, course: Pick<Course, 'timesS'>): boolean {
  const poses = samples.map((s) => s.pose);
  if (poses.length === 0 || followedS(samples) < plain.share * lengthS(course) || steepnessOf(poses) < plain.upright)
    return false;
  const seen = [joint.ankleL, joint.ankleR].map((row) => median(poses.map((pose) => visibilityOf(pose, row))));
  return Math.max(...seen) > plain.foot;
}

/**
 * How far apart, metres, hands and trunk of one who stands and of one found lying may seem to be the same person's. Measured where they were the same:
 * trunks 0.07 to 0.42, hands mostly 0.02 to 0.26, though up to 0.9 where the hands of the one found were made up. A spotter behind a lifter and the
 * lifter's legs before them can look like one who stands in plain view, but their hands are 0.38 or more from the lifter's: so far goes the same person
 * where a standing lift was read. Where another lift was: trunks 0.19 to 0.48, and 1.5 from a lifter on a bench to one who stands by.
 */
const same = { handsM: 0.3, ofLifterM: 0.38, trunksM: 0.45, ofOtherM: 0.6 };
const hands = [joint.wristL, joint.wristR];
const trunk = [joint.shoulderL, joint.shoulderR, joint.hipL, joint.hipR];

/**
 * Whether the one found lying is someone who stands in plain view: squares that are turned or hold a part of a body fool the models. `lift`: what was read
 * of who stands, which no spotter does; then the hands alone tell, for a trunk made up may be anywhere. What goes up and down like none of the lifts
 * (`other`) moves the hands more, so the trunk alone tells as well.
 */
export function isStanding({ samples }: Person, course: Course, lift: LiftId | null): boolean {
  const lying = new Map(samples.map(({ timeS, pose }) => [timeS, pose]));
  return course.people.some((person) => {
    if (!standsInView(person, course)) return false;
    const pairs = person.samples.flatMap(({ timeS, pose }) => {
      const found = lying.get(timeS);
      return found === undefined ? [] : [{ pose, found }];
    });
    const apartM = (rows: number[]) =>
      median(
        pairs.map(({ pose, found }) => {
          const [dx, dy] = [0, 1].map((axis) =>
            rows.reduce((sum, row) => sum + pose.points[row * pointWidth + axis]! - found.points[row * pointWidth + axis]!, 0),
          );
          return Math.hypot(dx!, dy!) / rows.length / pxPerMetre(pose);
        }),
      );
    if (pairs.length === 0) return false;
    if (lift === null) return apartM(hands) < same.handsM && apartM(trunk) < same.trunksM;
    return apartM(hands) < same.ofLifterM || (lift === 'other' && apartM(trunk) < same.ofOtherM);
  });
}

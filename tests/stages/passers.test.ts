import { expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import type { Pose } from '../../workers/pose/types.ts';
import { type Around, measurePeople } from '../../workers/stages/measure.ts';
import { isOnePerson, withoutPassers } from '../../workers/stages/passers.ts';
import type { Watch } from '../../workers/stages/watch.ts';
import { courseOf, poseOf, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 140, heightM: 1.2, distanceM: 3.2 };
const around: Around = { path: [], flow: [], pitchIn: () => unknown('ambiguous') };
const starts = [3, 7];
const depth = (timeS: number) => {
  const start = starts.find((s) => timeS >= s && timeS <= s + 2.6);
  return start === undefined ? 0 : (1 - Math.cos(((timeS - start) / 2.6) * 2 * Math.PI)) / 2;
};

/** Someone at a share of the lifter's distance, so many pixels beside the picture's middle. */
function walker(distanceShare: number, acrossPx: number): Pose {
  const pose = poseOf(squatting(0), { ...stand, distanceM: distanceShare * stand.distanceM }, [288, 512], 69.4);
  for (let row = 0; row < 33; row++) pose.points[row * 5]! += acrossPx;
  return pose;
}

/** Two squats whose track follows someone else between two times, who walks across the picture. */
function crossed(fromS: number, toS: number, distanceShare: number): Pick<Watch, 'course' | 'lookClosely'> {
  const course = courseOf((timeS) => squatting(depth(timeS)), 12, stand);
  for (const sample of course.people[0]!.samples)
    if (sample.timeS >= fromS && sample.timeS <= toS)
      sample.pose = walker(distanceShare, 200 * ((sample.timeS - fromS) / (toS - fromS)) - 100);
  return {
    course: () => course,
    lookClosely: async (_, from, to) =>
      course.people[0]!.samples.filter((s, i) => i % 3 === 0 && s.timeS >= from && s.timeS <= to),
  };
}
const left = (watch: ReturnType<typeof crossed>) => withoutPassers(watch).course().people[0]!.samples.length;

it('counts and times the reps of a lifter before whom someone walks by', async () => {
  const { lift, reps } = await measurePeople(crossed(3.1, 4.1, 0.55), unknown('not-measured'), around);
  expect(lift).toMatchObject({ known: true, value: 'squat' });
  expect(reps.known && reps.value.map(({ startS, endS }) => [Math.round(startS), Math.round(endS)])).toEqual([
    [3, 6],
    [7, 10],
  ]);
});

it.each([
  ['someone behind', 3.1, 4.1, 1.3],
  ['the lifter, who comes from the camera at the start', 0, 1.5, 0.5],
  ['the lifter, who goes to the camera at the end', 10.5, 12, 0.5],
  ['whoever stays for long', 3.1, 6.5, 0.55],
])('leaves in %s', (_, fromS, toS, distanceShare) => {
  expect(left(crossed(fromS, toS, distanceShare))).toBe(12 * 15);
});

it('leaves out the closer looks at a passer too', async () => {
  const looks = await withoutPassers(crossed(3.1, 4.1, 0.55)).lookClosely(1, 2, 5, 100);
  expect(looks.length).toBeGreaterThan(5);
  expect(looks.some(({ timeS }) => timeS > 3 && timeS < 4.2)).toBe(false);
});

it('is less sure of a lift in which somebody else was followed, who came straight towards the camera', async () => {
  const watch = crossed(20, 21, 1);
  const { samples } = watch.course().people[0]!;
  expect(isOnePerson(samples)).toBe(true);
  const sureOf = async () => {
    const { lift } = await measurePeople(watch, unknown('not-measured'), around);
    return lift.known ? lift.confidence! : 0;
  };
  const sure = await sureOf();
  for (const sample of samples) {
    const comingS = sample.timeS - 5.6;
    if (comingS < 0 || comingS > 1.8) continue;
    sample.pose = walker(1 - comingS / 3, 0);
    // who comes nearer stands lower in the picture
    for (let row = 0; row < 33; row++) sample.pose.points[row * 5 + 1]! += 80 * comingS;
  }
  expect(isOnePerson(samples)).toBe(false);
  expect(await sureOf()).toBeLessThan(0.7 * sure);
  // a gap in between tells nothing
  expect(isOnePerson(samples.filter(({ timeS }) => timeS < 5.6 || timeS > 7.4))).toBe(true);
});

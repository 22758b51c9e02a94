import { expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { settleLift, withBar } from '../../workers/stages/settle-lift.ts';
import { courseOf, depthOf, lunging, lying, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 130, heightM: 1.5, distanceM: 3 };

it('is not sure of a squat that one model takes for another lift, nor of a single one that reads poorly to one of them', () => {
  const courseIn = (jointsAt: (timeS: number) => ReturnType<typeof squatting>) => courseOf(jointsAt, 9, stand);
  const closeOf = (jointsAt: (timeS: number) => ReturnType<typeof squatting>) =>
    courseIn(jointsAt).people[0]!.samples.filter((_, i) => i % 3 === 0);
  const [once, twice] = [depthOf([2]), depthOf([1, 5])];
  const light = (depth: typeof once) => lifterOf(courseIn((t) => squatting(depth(t))))!;
  const squats = settleLift(
    light(twice),
    closeOf((t) => squatting(twice(t))),
  );
  expect(squats).toMatchObject({ lift: 'squat', confidence: 0.98 });
  // the heavy model, which sees feet more surely, sees one foot before the other
  const lunges = settleLift(
    light(twice),
    closeOf((t) => lunging(twice(t))),
  );
  expect(lunges.reps).toHaveLength(2);
  expect(lunges.confidence).toBeLessThan(0.6);
  // the light model saw nothing of a movement that the heavy one reads over the whole clip: a spotter who bends down once looks like that
  const heavy = (depth: typeof once, alone: ReturnType<typeof light>['readings'] | null) =>
    settleLift(
      light(depth),
      closeOf((t) => squatting(depth(t))),
      alone,
    ).confidence;
  expect([heavy(once, null), heavy(once, light(once).readings), heavy(once, [])].map((sure) => sure > 0.9)).toEqual([
    true,
    true,
    false,
  ]);
});

it.each([
  { lateS: 0.5, meets: 'half-way where they are near', turnS: 3.45 },
  { lateS: 1.2, meets: 'nowhere far apart, where those of the model that saw more moments count', turnS: 3.2 },
])('meets the times of two models that count as many reps $meets, though one saw them worse', ({ lateS, turnS }) => {
  const depth = depthOf([2]);
  // the trunk seems to lie more than it does at the bottom
  const worse = (t: number) => {
    const joints = squatting(depth(t));
    for (const row of [joint.shoulderL, joint.shoulderR, joint.wristL, joint.wristR])
      joints[row] = [joints[row]![0], joints[row]![1] - 0.38 * depth(t) ** 4, joints[row]![2]];
    return joints;
  };
  const light = lifterOf(courseOf(worse, 7, stand))!;
  // what saw it better saw it late
  const close = courseOf((t) => squatting(depth(t - lateS)), 7, stand).people[0]!.samples.filter((_, i) => i % 3 === 0);
  const closeScore = lifterOf({ widthPx: 288, heightPx: 512, timesS: [], people: [{ id: 1, samples: close }] })!.readings[0]!
    .score;
  expect(light.readings[0]!.score).toBeLessThan(0.8 * closeScore);
  const { lift, reps } = settleLift(light, close);
  expect(lift).toBe('squat');
  expect(reps).toHaveLength(1);
  expect(Math.abs(reps[0]!.turnS - turnS)).toBeLessThan(0.15);
});

/** A movement of hands over a bench and of a bar, 12.5 s, with the poses of each. */
function pressing(hands: (t: number) => number, bar: (t: number) => number) {
  const course = courseOf((t) => lying(hands(t)), 12.5, { ...stand, azimuthDeg: 45 });
  const [person] = course.people;
  const { pxPerM } = movementOf(person!);
  // the bar goes down 0.35 m and up again
  const flow = person!.samples.slice(1).map(({ timeS: toS }, i) => {
    const fromS = person!.samples[i]!.timeS;
    return { personId: person!.id, fromS, toS, upPx: 0.35 * pxPerM * (bar(fromS) - bar(toS)) };
  });
  return { light: lifterOf(course, flow)!, poses: person!.samples };
}

it('counts a bench press by the bar where that is what the other model counts, and the hands were read wrong besides', () => {
  const [depth, stray] = [depthOf([1, 4.5]), depthOf([7, 9.6])];
  const { light } = pressing((t) => Math.max(depth(t), 0.7 * stray(t)), depth);
  const { poses: close } = pressing(depth, depth);
  expect(light.readings.map(({ cycles }) => cycles.length)).toEqual([4, 2]);
  expect(settleLift(light, close)).toMatchObject({ lift: 'bench', reps: { length: 2 } });
});

it('leaves out what goes up and down on the bench without the bar, though both models count it', () => {
  const [depth, stray] = [depthOf([1, 4.5]), depthOf([8])];
  const { light, poses } = pressing((t) => Math.max(depth(t), stray(t)), depth);
  expect(settleLift(light, poses)).toMatchObject({ reps: { length: 3 } });
  const told = withBar(light);
  expect(told.byBar).toBe(true);
  const { lift, reps } = settleLift(told, poses);
  expect(lift).toBe('bench');
  expect(reps.map(({ startS }) => Math.abs(startS - 1) < 0.5 || Math.abs(startS - 4.5) < 0.5)).toEqual([true, true]);
});

it('takes the hands as they are where the bar tells nothing', () => {
  const { light } = pressing(depthOf([1, 4.5]), () => 0);
  expect(withBar(light)).toBe(light);
});

it('is not sure of a bench press that the heavy model alone reads, over the whole clip: it reads one into legs as well', () => {
  const { light } = pressing(depthOf([1, 4.5]), () => 0);
  expect([null, light.readings, []].map((alone) => settleLift(light, [], alone).confidence)).toEqual([0.98, 0.98, 0.59]);
});

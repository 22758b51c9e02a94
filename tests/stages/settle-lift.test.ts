import { expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import type { Course } from '../../workers/stages/course.ts';
import type { Cycle } from '../../workers/stages/cycle.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { settleLift } from '../../workers/stages/settle-lift.ts';
import { pressing } from './pressing.ts';
import { courseOf, depthOf, lunging, pulling, squatting } from './stick-figure.ts';

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

it('is not sure of a bench press that the heavy model alone reads, over the whole clip: it reads one into legs as well', () => {
  const { light } = pressing(depthOf([1, 4.5]), () => 0);
  expect([null, light.readings, []].map((alone) => settleLift(light, [], alone).confidence)).toEqual([0.98, 0.98, 0.59]);
});

it('does not count what goes a short way up that the other model does not tell, as hands do that are lost for a moment', () => {
  const [depth, lost] = [depthOf([4, 8]), depthOf([1])];
  const pulls = (t: number) => pulling(1 - depth(t));
  const light = lifterOf(courseOf((t) => pulling(1 - depth(t) - 0.6 * lost(t)), 11.5, stand))!;
  const close = courseOf(pulls, 11.5, stand).people[0]!.samples.filter((_, i) => i % 3 === 0);
  expect(light.readings[0]).toMatchObject({ lift: 'deadlift', cycles: { length: 3 } });
  expect(settleLift(light, close)).toMatchObject({ lift: 'deadlift', reps: { length: 2 } });
});

it('does not count a rep that the light model alone tells while the bar stays where it is', () => {
  const [three, two] = [depthOf([1, 5, 9]), depthOf([1, 5])];
  const pulls = (depth: typeof three) => courseOf((t) => pulling(1 - depth(t)), 13, stand);
  const course = pulls(three);
  const [{ id, samples }] = course.people as [Course['people'][0]];
  const { pxPerM } = movementOf({ id, samples });
  // the bar comes up 0.6 m
  const flowOf = (bar: typeof three) =>
    samples.slice(1).map(({ timeS: toS }, i) => {
      const fromS = samples[i]!.timeS;
      return { personId: id, fromS, toS, upPx: 0.6 * pxPerM * (bar(toS) - bar(fromS)) };
    });
  const close = pulls(two).people[0]!.samples.filter((_, i) => i % 3 === 0);
  const repsWith = (bar: typeof three) => settleLift(lifterOf(course, flowOf(bar))!, close).reps.length;
  expect(lifterOf(course)!.readings[0]).toMatchObject({ lift: 'deadlift', cycles: { length: 3 } });
  expect([repsWith(three), repsWith(two)]).toEqual([3, 2]);
});

it('tells a press by hands and bar where two models agree about the hands, by the bar alone where they do not: plates hide them', () => {
  const depth = depthOf([1, 5]);
  const toldBy = (lightS: number, heavyS: number, withBar = true) => {
    const { light } = pressing((t) => depth(t - lightS), depth);
    const close = pressing((t) => depth(t - heavyS), depth).poses.filter((_, i) => i % 3 === 0);
    const handsAlone = light.readings.map((r) => ({ ...r, cycles: r.cycles.map(({ bar: _, ...cycle }) => cycle) }));
    return settleLift(withBar ? light : { ...light, readings: handsAlone }, close).reps[0]!;
  };
  const [early, hands] = [toldBy(-0.3, -0.3), toldBy(-0.3, -0.3, false)];
  expect(early.startS - hands.startS).toBeCloseTo((1 - hands.startS) / 3, 1);
  expect(early.endS - hands.endS).toBeCloseTo((3.4 - hands.endS) / 3, 1);
  const { startS, turnS, endS } = toldBy(0.4, -0.4);
  expect(Math.max(Math.abs(startS - 1), Math.abs(turnS - 2.2), Math.abs(endS - 3.4))).toBeLessThan(0.1);
});

it('takes a rep that one model lost on its way from the other one', () => {
  const depth = depthOf([2]);
  const [person] = courseOf((t) => squatting(depth(t)), 6, stand).people;
  const followed = person!.samples.filter(({ timeS }) => timeS < 3.6);
  const light = lifterOf({ widthPx: 288, heightPx: 512, timesS: [], people: [{ id: 1, samples: followed }] })!;
  expect(light.readings[0]).toMatchObject({ lift: 'squat', cycles: [{ complete: false }] });
  const close = person!.samples.filter((_, i) => i % 3 === 0);
  const [rep, ...others] = settleLift(light, close).reps;
  expect(others).toEqual([]);
  expect(Math.abs(rep!.turnS - 3.2)).toBeLessThan(0.2);
  expect(Math.abs(rep!.endS - 4.4)).toBeLessThan(0.3);
});

it('tells a press by the bar where one model lost the hands at the lockout and saw them go up at another time', () => {
  const up = depthOf([2]);
  const press = (hands: typeof up) =>
    courseOf(
      (t) => {
        const joints = squatting(0);
        for (const row of [joint.wristL, joint.wristR])
          joints[row] = [joints[row]![0], joints[row]![1] + 0.6 * hands(t), joints[row]![2]];
        return joints;
      },
      6,
      stand,
    );
  const [early, seen] = [press((t) => (t < 2.9 ? up(t + 0.3) : 1)), press((t) => up(t - 0.3))];
  const [{ id, samples }] = early.people as [Course['people'][0]];
  const { pxPerM } = movementOf({ id, samples });
  const flow = samples.slice(1).map(({ timeS: toS }, i) => {
    const fromS = samples[i]!.timeS;
    return { personId: id, fromS, toS, upPx: 0.6 * pxPerM * (up(toS) - up(fromS)) };
  });
  expect(lifterOf(early, flow)!.readings[0]).toMatchObject({ lift: 'press', cycles: [{ complete: false }] });
  const close = seen.people[0]!.samples.filter((_, i) => i % 3 === 0);
  const startOf = (told: Parameters<typeof lifterOf>[1]) => settleLift(lifterOf(early, told)!, close).reps[0]!.startS;
  expect(Math.abs(startOf([]) - 2.3)).toBeLessThan(0.1);
  expect(Math.abs(startOf(flow) - 2)).toBeLessThan(0.1);
});

it('ends a rep where the model that saw all of it does, though the other one lost it just before', () => {
  const depth = depthOf([2]);
  // down at 1 s, up from 1.6 to 2.2 s
  const course = courseOf((t) => squatting(depth(2 * t)), 4, stand);
  const lost = course.people[0]!.samples.filter(({ timeS }) => timeS < 1.8);
  const [{ complete, ...heavy }] = lifterOf({ ...course, people: [{ id: 1, samples: lost }] })!.readings[0]!.cycles as [Cycle];
  expect([complete, Math.abs(heavy.end / 15 - 2.2) < 0.8]).toEqual([false, true]);
  const [rep] = settleLift(lifterOf(course)!, lost).reps;
  expect(Math.abs(rep!.endS - 2.2)).toBeLessThan(0.2);
});

it('is not sure of a squat that the other model takes for another lift, though it sees one elsewhere', () => {
  const [first, second] = [depthOf([2]), depthOf([6])];
  const light = lifterOf(courseOf((t) => squatting(first(t)), 9.5, stand))!;
  const sureWith = (early: typeof squatting) =>
    settleLift(
      light,
      courseOf((t) => (t < 5 ? early(first(t)) : squatting(second(t))), 9.5, stand).people[0]!.samples.filter(
        (_, i) => i % 3 === 0,
      ),
    );
  expect(sureWith(squatting)).toMatchObject({ lift: 'squat', confidence: 0.98 });
  expect(sureWith(lunging)).toMatchObject({ lift: 'squat', confidence: expect.toSatisfy((sure: number) => sure < 0.6) });
});

it('counts a rep between others that only the other model saw, where it goes as far as they do', () => {
  const [seen, middle] = [depthOf([1, 8, 11.5, 15, 18.5]), depthOf([4.5])];
  const squats = (way: number) => courseOf((t) => squatting(Math.max(seen(t), way * middle(t))), 22, stand);
  const light = lifterOf(squats(0))!;
  const repsWith = (way: number) =>
    settleLift(
      light,
      squats(way).people[0]!.samples.filter((_, i) => i % 3 === 0),
    ).reps.length;
  expect(light.readings[0]!.cycles).toHaveLength(5);
  expect([repsWith(1), repsWith(0.62)]).toEqual([6, 5]);
});

it('is not sure of a squat where the other model sees nobody go up and down', () => {
  const depth = depthOf([2]);
  const course = (share: number) => courseOf((t) => squatting(share * depth(t)), 6, stand);
  const close = course(0.1).people[0]!.samples.filter((_, i) => i % 3 === 0);
  expect(settleLift(lifterOf(course(1))!, close)).toMatchObject({
    lift: 'squat',
    confidence: expect.toSatisfy((sure: number) => sure < 0.6),
  });
});

it('does not doubt a long set for the few looks that the other model had at each rep', () => {
  // 15 reps of 1.2 s, one every 2.4 s
  const depth = depthOf(Array.from({ length: 15 }, (_, i) => 2 + 4.8 * i));
  const course = courseOf((t) => squatting(depth(2 * t)), 38, stand);
  const every = Math.floor(course.timesS.length / 48);
  const close = course.people[0]!.samples.filter((_, i) => i % every === 0);
  expect(settleLift(lifterOf(course)!, close)).toMatchObject({ lift: 'squat', reps: { length: 15 }, confidence: 0.98 });
});

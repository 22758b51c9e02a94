import { describe, expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { type Around, measurePeople } from '../../workers/stages/measure.ts';
import { turnCourse, turnNeeded } from '../../workers/stages/turn-course.ts';
import type { Watch } from '../../workers/stages/watch.ts';
import { courseOf, depthOf, lunging, lying, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 130, heightM: 1.5, distanceM: 3 };
const depth = (timeS: number) => (timeS < 1 || timeS > 6.6 ? 0 : (1 - Math.cos(((timeS - 1) / 2.8) * 2 * Math.PI)) / 2);
const standing = courseOf(() => squatting(0), 8, stand);
/** Middle of the time between the two reps. */
const betweenS = 3.8;
const squats = courseOf((timeS) => squatting(depth(timeS)), 8, stand);

const around: Around = { path: [], flow: [], pitchIn: () => unknown('ambiguous') };

/** A watch whose light model saw one course and whose heavy model sees another. */
const watchOf = (light: typeof standing, heavy: typeof standing): Pick<Watch, 'course' | 'lookClosely'> => ({
  course: () => light,
  lookClosely: async (_, fromS, toS, most) => {
    const there = heavy.people[0]!.samples.filter(({ timeS }) => timeS >= fromS && timeS <= toS);
    return there.filter((_, at) => at % Math.ceil(there.length / most) === 0);
  },
});

it('lets the heavy model read the whole clip where the light one reads no lift', async () => {
  const facts = await measurePeople(watchOf(standing, squats), unknown('not-measured'), around);
  expect(facts.lift).toMatchObject({ known: true, value: 'squat' });
  expect(facts.reps.known && facts.reps.value).toHaveLength(2);
});

it('takes a part of the same looks for no second witness of the reps', async () => {
  const quick = courseOf((timeS) => squatting(Math.max(0, Math.sin(timeS * 3))), 8, stand);
  const [whole, part] = [watchOf(standing, squats), watchOf(standing, quick)];
  let looks = 0;
  const lookClosely: Watch['lookClosely'] = (...asked) => (looks++ === 0 ? whole : part).lookClosely(...asked);
  const facts = await measurePeople({ course: whole.course, lookClosely }, unknown('not-measured'), around);
  expect(facts.reps.known && facts.reps.value).toHaveLength(2);
});

it('looks closely at what goes as far as the reps beside it, though the light model read no such posture there', async () => {
  const reps = depthOf([1, 5, 9, 13, 17]);
  const seen = courseOf((timeS) => squatting(reps(timeS)), 21, stand);
  // in the first rep the hands seem to hang, and the lifter stands elsewhere
  const misread = courseOf(
    (timeS) => {
      const joints = squatting(reps(timeS));
      const early = timeS < 4;
      const moved = Object.entries(joints).map(([row, [x, y, z]]) => {
        const isHand = Number(row) === joint.wristL || Number(row) === joint.wristR;
        return [row, [x, y + (early ? 0.2 : 0) - (early && isHand ? 0.7 : 0), z]];
      });
      return Object.fromEntries(moved);
    },
    21,
    stand,
  );
  const repsOf = async (heavy: typeof seen) => {
    const { reps } = await measurePeople(watchOf(misread, heavy), unknown('not-measured'), around);
    return reps.known && reps.value.map(({ startS }) => Math.round(startS));
  };
  expect(await repsOf(seen)).toEqual([1, 5, 9, 13, 17]);
  expect(await repsOf(misread)).toEqual([5, 9, 13, 17]);
});

it('says that there is no lift where neither model reads one', async () => {
  const facts = await measurePeople(watchOf(standing, standing), unknown('not-measured'), around);
  expect([facts.lift.known, facts.reps]).toEqual([false, { known: false, reason: 'no-lift' }]);
});

it('knows one who lies straight on a bench from one who stands in a picture on its side', async () => {
  const straight = courseOf(
    (timeS) => {
      const joints = lying(depth(timeS));
      const [hipL, hipR] = [joints[joint.hipL]!, joints[joint.hipR]!];
      for (const [row, [x, y, z], alongM] of [
        [joint.kneeL, hipL, 0.42],
        [joint.kneeR, hipR, 0.42],
        [joint.ankleL, hipL, 0.85],
        [joint.ankleR, hipR, 0.85],
      ] as const)
        joints[row] = [x, y, z + alongM];
      return joints;
    },
    8,
    { ...stand, azimuthDeg: 60 },
  );
  expect(turnNeeded(straight)?.turnDeg).toBe(270);
  const facts = await measurePeople(watchOf(straight, straight), unknown('not-measured'), around);
  expect([facts.orientation, facts.lift]).toMatchObject([{ value: 'upright' }, { value: 'bench' }]);
  expect(facts.reps.known && facts.reps.value).toHaveLength(2);
  // plates before one who squats fool the light model, not the heavy one
  const onSide = await measurePeople(watchOf(straight, turnCourse(squats, 90)), unknown('not-measured'), around);
  expect([onSide.orientation, onSide.lift]).toMatchObject([{ value: 'sideways-right' }, { value: 'squat' }]);
});

/** Standing, hands from the hips to the shoulders and back in 2 s, from each of these times on: curls with a bar. */
const curls = (starts: number[], ankleSeen = 1) => {
  const course = courseOf(
    (timeS) => {
      const joints = squatting(0);
      const start = starts.find((s) => timeS >= s && timeS < s + 2);
      const up = start === undefined ? 0 : (1 - Math.cos((timeS - start) * Math.PI)) / 2;
      for (const row of [joint.wristL, joint.wristR]) {
        const [x, y] = joints[row]!;
        joints[row] = [x, y - 0.55 * (1 - up), 0.25];
      }
      return joints;
    },
    8,
    { ...stand, azimuthDeg: 30 },
  );
  for (const { pose } of course.people[0]!.samples)
    for (const row of [joint.ankleL, joint.ankleR]) pose.points[row * 5 + 3] = ankleSeen;
  return course;
};

it('takes what one in plain view does again and again, and is none of the lifts, for another lift, and is not sure of it', async () => {
  const liftOf = async (course: typeof standing) =>
    (await measurePeople(watchOf(course, course), unknown('not-measured'), around)).lift;
  expect(await liftOf(curls([1, 4]))).toEqual({ known: true, value: 'other', confidence: 0.55 });
  // once may be anything, and of one half hidden it may be a lift seen wrong
  expect((await liftOf(curls([1]))).known).toBe(false);
  expect((await liftOf(curls([1, 4], 0.7))).known).toBe(false);
});

it('takes lunges for another lift', async () => {
  const steps = courseOf((timeS) => lunging(depth(timeS)), 8, stand);
  const { lift } = await measurePeople(watchOf(steps, steps), unknown('not-measured'), around);
  expect(lift).toMatchObject({ known: true, value: 'other' });
});

describe('a phone that sways in the hand', () => {
  const presses = courseOf(
    (timeS) => {
      const joints = squatting(0);
      for (const row of [joint.wristL, joint.wristR]) {
        const [x, y, z] = joints[row]!;
        joints[row] = [x, y + 0.6 * depth(timeS), z];
      }
      return joints;
    },
    8,
    { ...stand, azimuthDeg: 40 },
  );
  // between the reps the lifter rises in the picture by most of a metre, while the background only sways: the phone sank
  const risePx = (timeS: number) => 100 / (1 + Math.exp(-2 * (timeS - 3.8)));
  const path = presses.timesS.map((timeS) => ({ timeS, dxShare: 0.1 * Math.sin(5 * timeS), dyShare: 0 }));
  for (const [at, { pose, timeS }] of presses.people[0]!.samples.entries())
    for (let row = 0; row < 33; row++) {
      pose.points[row * 5]! += path[at]!.dxShare * presses.widthPx;
      pose.points[row * 5 + 1]! -= risePx(timeS);
    }

  it('is told by the feet, which stay on the floor', async () => {
    const { lift, reps } = await measurePeople(watchOf(presses, presses), unknown('not-measured'), { ...around, path });
    expect(lift).toMatchObject({ known: true, value: 'press' });
    const starts = reps.known ? reps.value.map(({ startS }) => startS) : [];
    expect(starts).toHaveLength(2);
    // each rep lasts 2.8 s from 1 s on; the feet tell no more than what lasts 0.3 s
    for (const [at, startS] of starts.entries()) expect(Math.abs(startS - (1 + 2.8 * at))).toBeLessThan(0.4);
  });
});

it('believes no lift where the heavy model sees nobody, as in texture', async () => {
  const unseen = {
    ...squats,
    people: squats.people.map((person) => ({
      ...person,
      samples: person.samples.map((sample) => ({ ...sample, pose: { ...sample.pose, presence: 0.7 } })),
    })),
  };
  const [seen, texture] = [
    await measurePeople(watchOf(squats, squats), unknown('not-measured'), around),
    await measurePeople(watchOf(squats, unseen), unknown('not-measured'), around),
  ];
  expect(seen.lift).toMatchObject({ known: true, value: 'squat' });
  expect([texture.lift.known, texture.reps]).toEqual([false, { known: false, reason: 'no-lift' }]);
});

it('reads the lift of somebody else where the heavy model sees nobody in a larger shape', async () => {
  const [shape] = courseOf((timeS) => squatting(depth(timeS)), 8, { ...stand, distanceM: 2 }).people;
  const light = {
    ...squats,
    people: [
      { ...shape!, id: 7 },
      { ...squats.people[0]!, id: 8 },
    ],
  };
  const unseen = shape!.samples.map((sample) => ({ ...sample, pose: { ...sample.pose, presence: 0.7 } }));
  const { lookClosely } = watchOf(squats, squats);
  const looked: number[] = [];
  const watch: Pick<Watch, 'course' | 'lookClosely'> = {
    course: () => light,
    lookClosely: async (id, ...where) => {
      looked.push(id);
      return id === 7 ? unseen : lookClosely(id, ...where);
    },
  };
  const { lift, reps } = await measurePeople(watch, unknown('not-measured'), around);
  expect(looked).toEqual([7, 8]);
  // and of two more at most
  const many = Array.from({ length: 9 }, (_, at) => ({ ...shape!, id: 20 + at }));
  const asked = new Set<number>();
  const texture: typeof watch = {
    course: () => ({ ...squats, people: many }),
    lookClosely: async (id) => {
      asked.add(id);
      return unseen;
    },
  };
  expect((await measurePeople(texture, unknown('not-measured'), around)).lift.known).toBe(false);
  expect(asked.size).toBe(3);
  expect(lift).toMatchObject({ known: true, value: 'squat' });
  expect(reps.known && reps.value).toHaveLength(2);
});

it.each([
  ['for most of the clip, may be somebody', 5, 'lifter-unclear'],
  ['for a moment, is nobody', 3, 'no-lifter'],
])('what is seen poorly, %s', async (_, toS, reason) => {
  const [person] = standing.people;
  const samples = person!.samples
    .filter(({ timeS }) => timeS < toS)
    .map((sample) => ({ ...sample, pose: { ...sample.pose, presence: 0.7 } }));
  const course = { ...standing, people: [{ ...person!, samples }] };
  const { people } = await measurePeople(watchOf(course, course), unknown('not-measured'), around);
  expect(people).toEqual(unknown(reason as 'no-lifter'));
});

it('is less sure of a press of somebody whom only a search found when the bar does not tell it too', async () => {
  const presses = courseOf((timeS) => lying(depth(timeS)), 8, { ...stand, azimuthDeg: 45 });
  const lift = async (searched: boolean) =>
    (await measurePeople(watchOf(presses, presses), unknown('not-measured'), { ...around, searched })).lift;
  expect([await lift(false), await lift(true)]).toMatchObject([
    { value: 'bench', confidence: 0.98 },
    { value: 'bench', confidence: 0.69 },
  ]);
});

it('is not sure of a lift read from poses that face every way, as those of a crowd do', async () => {
  const sides = [130, -140, -50, 40].map((azimuthDeg) =>
    courseOf((timeS) => squatting(depth(timeS)), 8, { ...stand, azimuthDeg }),
  );
  const samples = sides[0]!.people[0]!.samples.map((_, at) => sides[at % sides.length]!.people[0]!.samples[at]!);
  const crowd = { ...squats, people: [{ id: squats.people[0]!.id, samples }] };
  const [one, many] = [
    await measurePeople(watchOf(squats, squats), unknown('not-measured'), around),
    await measurePeople(watchOf(squats, crowd), unknown('not-measured'), around),
  ];
  expect([one.lift, many.lift]).toMatchObject([{ value: 'squat' }, { value: 'squat' }]);
  expect(one.lift.known && one.lift.confidence).toBeGreaterThan(0.9);
  expect(many.lift.known && many.lift.confidence).toBeLessThan(0.6);
});

it('takes for the lifter who is there while they lift, not a larger shape that is a body at other times', async () => {
  const shape = courseOf((timeS) => squatting(depth(timeS)), 8, { ...stand, distanceM: 2 }).people[0]!.samples;
  const lifterWith = (presence: number) => {
    const samples = shape.flatMap((sample, at) => {
      const lifts = sample.timeS > 1 && sample.timeS < 6.6;
      // in the lift one look in five sees somebody, so that most looks are of before and after it
      if (lifts && at % 5 !== 0) return [];
      return [{ ...sample, pose: { ...sample.pose, presence: lifts ? presence : 1 } }];
    });
    return lifterOf({
      ...squats,
      people: [
        { id: 1, samples },
        { ...squats.people[0]!, id: 2 },
      ],
    })?.person.id;
  };
  expect([lifterWith(1), lifterWith(0.79)]).toEqual([1, 2]);
});

it.each([
  ['from the start', 0, 8, 0, 0.97],
  ['from just before the first rep', 1.2, 8, 0, 0.45],
  ['until just after the last rep', 0, 6.8, 0, 0.45],
  ['but for more than a second between the reps', 0, 8, 1.2, 0.45],
  ['but for less than a second between the reps', 0, 8, 0.8, 0.97],
])(
  'is sure of the reps of a lifter who is followed %s as far as none may have been missed',
  async (_, fromS, toS, goneS, confidence) => {
    const [person] = squats.people;
    const followed = (timeS: number) => timeS >= fromS && timeS <= toS && Math.abs(timeS - betweenS) >= goneS / 2;
    const part = person!.samples.filter(({ timeS }) => followed(timeS));
    const course = { ...squats, people: [{ ...person!, samples: part }] };
    const { reps, deadTime } = await measurePeople(watchOf(course, course), unknown('not-measured'), around);
    if (!reps.known || !deadTime.known) throw new Error('no reps');
    expect(reps.confidence).toBe(confidence);
    // nor is what was not seen taken for waiting
    expect(deadTime.value.leadInS < reps.value[0]!.startS).toBe(fromS > 0);
    expect(deadTime.value.tailS < 0.1).toBe(toS < 8);
  },
);

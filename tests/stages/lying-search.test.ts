import { describe, expect, it } from 'vitest';
import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { drifted } from '../../workers/pose/regions.ts';
import { joint, type Pose, type Region, type RgbImage } from '../../workers/pose/types.ts';
import { isDoubtful, mostRead, surerOf, withGuessedParts } from '../../workers/second-look.ts';
import { shiftedPose } from '../../workers/stages/course.ts';
import { createSpread, findLying, movingMiddle, type TimedImage } from '../../workers/stages/lying-search.ts';
import { lying, poseOf, squatting } from './stick-figure.ts';

const size = [288, 512] as const;
const longFovDeg = 69.4;
const stand = { azimuthDeg: 20, heightM: 1.5, distanceM: 2.6 };

/** Twelve frames of a bar that goes down and up twice; the first byte tells the stand-in for the model the moment. */
const frames: TimedImage[] = Array.from({ length: 12 }, (_, i) => {
  const data = new Uint8Array(size[0] * size[1] * 3);
  data[0] = i;
  // the bar: a bright line at another height in each picture
  data.fill(200, 3 * size[0] * (200 + 10 * (i % 6)), 3 * size[0] * (204 + 10 * (i % 6)));
  return { data, widthPx: size[0], heightPx: size[1], timeS: i };
});
const depthAt = (i: number) => (i % 6) / 5;

/** Reads what is in a square as a landmark model would that tells a person from none: whoever is nearest to its middle, nobody if far off. */
function engineOf(people: ((i: number) => Pose)[]): PoseEngine {
  const nobody = { ...poseOf(squatting(0), stand, size, longFovDeg), presence: 0.1 };
  const landmarks = async (frame: RgbImage, region: Region): Promise<Pose> => {
    const near = people
      .map((person) => person(frame.data[0]!))
      .map((pose) => ({ pose, hips: [pose.points[joint.hipL * 5]!, pose.points[joint.hipL * 5 + 1]!] as const }))
      .map(({ pose, hips }) => ({ pose, px: Math.hypot(hips[0] - region.cx, hips[1] - region.cy) }))
      .sort((a, b) => a.px - b.px)[0];
    return near === undefined || near.px > 60 ? nobody : near.pose;
  };
  return { landmarks } as Partial<PoseEngine> as PoseEngine;
}
const lifter = (i: number) => poseOf(lying(depthAt(i)), stand, size, longFovDeg);
const spotter = (i: number) => {
  const pose = poseOf(squatting(0.1 * depthAt(i)), { ...stand, azimuthDeg: 200 }, size, longFovDeg);
  for (let row = 0; row < 33; row++) pose.points[row * 5 + 1]! -= 90;
  return pose;
};

/** Stands on the head, hands moving as in a press. */
const upsideDown = (i: number) => {
  const pose = lifter(i);
  for (const row of [joint.shoulderL, joint.shoulderR]) pose.world.set([0, 0.5, 0.1], row * 3);
  return pose;
};

describe('search for a lying lifter', () => {
  it('finds the one who lies and presses, beside one who stands', async () => {
    const [found] = await findLying(frames, [], engineOf([spotter, lifter]));
    const hips = lifter(0).points;
    expect(Math.hypot(found!.cx - hips[joint.hipL * 5]!, found!.cy - hips[joint.hipL * 5 + 1]!)).toBeLessThan(60);
  });

  it.each([0.46, 0.36])('finds one whom plates and a rack half hide, seen with a visibility of %f', async (visibility) => {
    const hidden = (i: number) => {
      const pose = lifter(i);
      for (let row = 0; row < 33; row++) pose.points[row * 5 + 3] = visibility;
      return pose;
    };
    expect(await findLying(frames, [], engineOf([spotter, hidden]))).not.toEqual([]);
  });

  it.each([
    ['nobody', []],
    ['only one who stands', [spotter]],
    ['one who lies and does not press', [() => lifter(0)]],
    ['a body read upside down', [upsideDown]],
  ])('finds none in %s', async (_, people) => {
    expect(await findLying(frames, [], engineOf(people))).toEqual([]);
  });

  it('finds one whom a camera that sways shows in another place all the time', async () => {
    const swayPx = (i: number) => 60 * Math.sin(i);
    const path = frames.map(({ timeS }, i) => ({ timeS, dxShare: swayPx(i) / size[0], dyShare: 0 }));
    const seen = (i: number) => shiftedPose(lifter(i), swayPx(i), 0);
    const hipX = lifter(0).points[joint.hipL * 5]!;
    expect(Math.abs((await findLying(frames, path, engineOf([seen])))[0]!.cx - hipX)).toBeLessThan(60);
    expect(await findLying(frames, [], engineOf([seen]))).toEqual([]);
  });

  it('gives behind the best square another one that differs from it', async () => {
    const [best, other, ...more] = await findLying(frames, [], engineOf([lifter]));
    expect(drifted(best!, other!)).toBe(true);
    expect(more).toEqual([]);
  });

  it('stops when it is told to', async () => {
    await expect(findLying(frames, [], engineOf([lifter]), AbortSignal.abort(new Error('too long')))).rejects.toThrow('too long');
  });
});

describe('when it is searched', () => {
  const seen = known({ azimuthDeg: 40, class: 'front-quarter', side: 'left' } as const);
  const facts = (lift: Facts['lift'], view: Facts['view'] = seen, sureOfReps = 0.97) =>
    isDoubtful({ lift, view, reps: known([], { confidence: sureOfReps }) } as unknown as Facts);
  it('is where no lift was found, or one that may be a bench press seen wrong', () => {
    expect(facts(unknown('no-lift'))).toBe(true);
    expect([0.7, 0.9].map((confidence) => facts(known('bench', { confidence })))).toEqual([true, false]);
    // a spotter who bends over the bench reads as a poor squat
    expect([0.5, 0.7].map((confidence) => facts(known('squat', { confidence })))).toEqual([true, false]);
    expect(facts(known('deadlift', { confidence: 0.9 }), unknown('ambiguous'))).toBe(true);
    // found in the middle of the set
    expect((['bench', 'squat'] as const).map((lift) => facts(known(lift, { confidence: 0.9 }), seen, 0.45))).toEqual([
      true,
      false,
    ]);
  });
});

describe('what was found second', () => {
  const facts = (lift: Facts['lift'], reps: number, spread: number | null, sureOfReps = 0.97) =>
    ({
      lift,
      reps:
        reps === 0
          ? unknown('no-lift')
          : known(
              Array.from({ length: reps }, () => ({ startS: 0, turnS: 1, endS: 2 })),
              { confidence: sureOfReps },
            ),
      view: spread === null ? unknown('ambiguous') : known({ azimuthDeg: 40 }, { spread }),
      inFrame: {},
    }) as unknown as Facts;
  const bench = (confidence: number) => known<'bench'>('bench', { confidence });
  const none = facts(unknown('no-lift'), 0, null);

  it.each([
    ['where no lift was seen', none, facts(bench(0.9), 2, 20), true],
    ['in place of a doubtful squat', facts(known('squat', { confidence: 0.5 }), 1, 20), facts(bench(0.9), 2, 20), true],
    ['where it read more of a doubtful bench press', facts(bench(0.5), 1, 20), facts(bench(0.9), 2, 20), true],
    [
      'in place of a bench press that is likely none, where its poses agree more',
      facts(bench(0.5), 3, 30),
      facts(bench(0.9), 2, 20),
      true,
    ],
    ['where reps may have been missed and it read more', facts(bench(0.98), 1, 20, 0.45), facts(bench(0.9), 2, 20), true],
    ['not where reps may have been missed and it is unsure', facts(bench(0.98), 1, 20, 0.45), facts(bench(0.7), 2, 20), false],
    ['not in place of one whose poses agree more', facts(bench(0.5), 3, 15), facts(bench(0.9), 2, 20), false],
    ['not where it read no more of it', facts(bench(0.7), 2, 20), facts(bench(0.9), 2, 20), false],
    ['not when it is not sure itself', none, facts(bench(0.6), 2, 20), false],
    ['not when it is no bench press', none, facts(known('squat', { confidence: 0.9 }), 2, 20), false],
    ['not when the body faces no way that poses agree on', none, facts(bench(0.9), 2, 60), false],
    ['not when its view is unknown', none, facts(bench(0.9), 2, null), false],
  ])('is taken %s', (_, first, second, taken) => {
    expect(surerOf(first, second).lift).toEqual((taken ? second : first).lift);
  });
});

it('takes the middle for what moves where nothing does', () => {
  expect(movingMiddle(frames.slice(0, 1), [])).toEqual({ x: size[0] / 2, y: size[1] / 2 });
});

describe('of what was read in two places', () => {
  const read = (lift: 'bench' | 'squat', confidence: number, reps: number) =>
    ({ lift: known(lift, { confidence }), reps: known(Array.from({ length: reps }, () => ({}))) }) as unknown as Facts;
  const [one, two, unsure, squat] = [read('bench', 0.9, 1), read('bench', 0.9, 2), read('bench', 0.7, 5), read('squat', 0.95, 3)];
  it.each([
    ['the surest bench press', [unsure, one], one],
    ['of equally sure ones the one with more reps', [one, two], two],
    ['none, where none is one', [squat], undefined],
  ])('takes %s', (_, found, taken) => {
    expect(mostRead(found)).toBe(taken);
    expect(mostRead(found.toReversed())).toBe(taken);
  });
});

describe('spread of frames', () => {
  it('keeps a few, evenly over a clip of any length, as they were', () => {
    const spread = createSpread();
    const data = new Uint8Array(3);
    for (let i = 0; i < 1000; i++) {
      data[0] = i % 256;
      spread.push({ data, widthPx: 1, heightPx: 1, timeS: i / 15 });
    }
    const values = spread.frames().map((frame) => frame.data[0]!);
    expect(values.length).toBeGreaterThan(8);
    expect(values.length).toBeLessThanOrEqual(24);
    expect(new Set(values).size).toBeGreaterThan(8);
  });
});

describe('parts of a lifter whom only the search found', () => {
  it('are outside the picture only as far as a guess goes, so that nobody is sent back for them', () => {
    const value = { share: 0.4, outsideShare: 0.6, lostAt: ['start' as const] };
    const inFrame = { feet: known(value, { confidence: 0.97 }), hands: unknown('too-few-frames') } as Partial<Facts['inFrame']>;
    const { feet, hands } = withGuessedParts({ inFrame } as Facts).inFrame;
    expect(feet).toMatchObject({ known: true, value, confidence: 0.5 });
    expect(hands).toEqual(unknown('too-few-frames'));
  });
});

import { describe, expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import { joint } from '../../workers/pose/types.ts';
import type { FlowStep } from '../../workers/stages/bar-flow.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { measurePeople } from '../../workers/stages/measure.ts';
import { settleLift } from '../../workers/stages/settle-lift.ts';
import { courseOf, depthOf, flowOf, lunging, pulling, squatting } from './stick-figure.ts';

type Joints = ReturnType<typeof pulling>;
type Course = ReturnType<typeof courseOf>;

const stand = { azimuthDeg: 50, heightM: 1.2, distanceM: 3 };
const around = { path: [], pitchIn: () => unknown<number>('ambiguous') };
const eased = (x: number) => ((share) => share * share * (3 - 2 * share))(Math.min(1, Math.max(0, x)));

/** Up in the first so many seconds of each period, held, and down in the last ones; 0..1. */
const wave = (periodS: number, upS: number, downS: number) => (timeS: number) => {
  const t = timeS % periodS;
  return eased(t / upS) - eased((t - periodS + downS) / downS);
};

/** The same with the hands brought up from where they hang to the shoulders (`share` 1) or by more, farther. */
function handsUp(joints: Joints, share: number): Joints {
  const up = { ...joints };
  for (const [wrist, shoulder] of [
    [joint.wristL, joint.shoulderL],
    [joint.wristR, joint.shoulderR],
  ] as const) {
    const [[x, y, z], shoulderY] = [joints[wrist]!, joints[shoulder]![1]];
    up[wrist] = [x, y + share * (shoulderY - y), z];
  }
  return up;
}

async function measured(light: Course, heavy = light, flow: FlowStep[] = []) {
  return measurePeople(
    {
      course: () => light,
      lookClosely: async (_, fromS, toS, most) => {
        const there = heavy.people[0]!.samples.filter(({ timeS }) => timeS >= fromS && timeS <= toS);
        return there.filter((_, at) => at % Math.ceil(there.length / most) === 0);
      },
    },
    unknown('not-measured'),
    { ...around, flow },
  );
}

// common practice: a clean takes the bar from the floor to the shoulders in about a second, and it goes down again in as long
const pull = wave(4, 1, 1);
const clean = (t: number) => handsUp(pulling(1 - pull(t)), pull(t) ** 3);
const other = { known: true, value: 'other' };

describe('another lift', () => {
  it('is a bar that both models see brought up from the floor to the shoulders again and again', async () => {
    const { lift, reps, liftWindow } = await measured(courseOf(clean, 12, stand));
    expect(lift).toEqual({ ...other, confidence: 0.9 });
    // what was read as reps is none
    expect(reps).toMatchObject({ known: false, reason: 'no-lift' });
    const window = liftWindow.known && liftWindow.value;
    expect(window).toMatchObject({
      startS: expect.toSatisfy((s: number) => s < 1),
      endS: expect.toSatisfy((s: number) => s > 9),
    });
  });

  it('is none where only the light model sees the hands come up, as plates make it at a deadlift', async () => {
    const deadlifts = courseOf((t) => pulling(1 - pull(t)), 12, stand);
    const { lift, reps } = await measured(courseOf(clean, 12, stand), deadlifts);
    expect(lift).toMatchObject({ value: 'deadlift' });
    expect(reps.known && reps.value).toHaveLength(3);
  });

  it('is a bar that rises to the shoulders where plates hide the hands from the heavy model', async () => {
    const [light, heavy] = [courseOf(clean, 12, stand), courseOf((t) => pulling(1 - pull(t)), 12, stand)];
    const liftWith = async (barM: number) => {
      const flow = flowOf(light, (t) => barM * pull(t));
      return (await measured(light, heavy, flow)).lift;
    };
    expect(await liftWith(1.1)).toEqual({ ...other, confidence: 0.9 });
    expect(await liftWith(0.6)).toMatchObject({ value: 'deadlift' });
  });

  it('is not the set of presses to which the bar was brought up once', async () => {
    const press = wave(3, 1, 1);
    const presses = courseOf((t) => (t < 4 ? clean(Math.min(t, 2)) : handsUp(pulling(0), 1 + 0.9 * press(t - 4))), 13, stand);
    const { lift, reps } = await measured(presses);
    expect(lift).toMatchObject({ value: 'press' });
    expect(reps.known && reps.value).toHaveLength(3);
  });

  it('is a row: hands that come up to the trunk again and again in what reads as one long pull', async () => {
    const row = wave(1.5, 0.5, 0.5);
    // bends, pulls the bar up, bends half-way and rows four times, stands up, puts the bar down
    const bent = (t: number) => eased(t) - eased(t - 1.5) + 0.6 * (eased(t - 3) - eased(t - 10.5)) + eased(t - 12.5);
    const rows = courseOf((t) => handsUp(pulling(bent(t)), t > 4 && t < 10 ? 0.8 * row(t - 4) : 0), 14, stand);
    expect((await measured(rows)).lift).toEqual({ ...other, confidence: 0.9 });
    const held = courseOf((t) => pulling(bent(t)), 14, stand);
    expect((await measured(held)).lift).toMatchObject({ value: 'deadlift' });
  });

  it('is no squat whose arms swing up while the shoulders sink', async () => {
    const down = wave(3, 1.2, 1.2);
    const hanging = (depth: number, up = depth) => {
      const joints = squatting(depth);
      const [shoulder] = [joints[joint.shoulderL]!];
      for (const row of [joint.wristL, joint.wristR]) {
        const [x, , z] = joints[row]!;
        joints[row] = [x, shoulder[1] - 0.57 * (1 - up), z + 0.5 * up];
      }
      return joints;
    };
    expect((await measured(courseOf((t) => hanging(down(t)), 9, stand))).lift).toMatchObject({ value: 'squat' });
    const early = courseOf((t) => hanging(down(t), down(t) ** 0.35), 9, stand);
    expect((await measured(early)).lift).toMatchObject({ value: 'squat' });
  });
});

describe('a squat', () => {
  const depth = depthOf([2]);
  const from = { azimuthDeg: 130, heightM: 1.5, distanceM: 3 };
  const sureness = (jointsAt: (timeS: number) => Joints) => {
    const settled = settleLift(lifterOf(courseOf(jointsAt, 6.5, from))!, []);
    return settled.lift === 'squat' ? settled.confidence : 0;
  };
  const moved = (
    joints: Joints,
    [byX, byY, byZ]: readonly [number, number, number],
    rows = Object.keys(joints).map(Number),
  ): Joints => {
    const all = { ...joints };
    for (const row of rows) {
      const [x, y, z] = joints[row]!;
      all[row] = [x + byX, y + byY, z + byZ];
    }
    return all;
  };

  it('is not sure when the bar was pulled from the floor just before', () => {
    // caught in a squat
    const caught = (t: number) => (t < 1.5 ? pulling(1 - eased((t - 0.7) / 0.8)) : squatting(t < 2 ? 0 : depth(t)));
    expect(sureness((t) => squatting(depth(t)))).toBeGreaterThan(0.9);
    expect(sureness(caught)).toBeLessThan(0.8);
  });

  it('is not sure when one foot is before the other', () => {
    // a staggered stance is no lunge
    expect(sureness((t) => lunging(depth(t), 0.2))).toBeGreaterThan(0.9);
    expect(sureness((t) => lunging(depth(t)))).toBeLessThan(0.8);
  });

  it('is not sure when the body goes forward on the way down', () => {
    const forward = (byM: number) => sureness((t) => moved(squatting(depth(t)), [0, 0, byM * depth(t)]));
    expect(forward(0.1)).toBeGreaterThan(0.9);
    expect(forward(0.5)).toBeLessThan(0.8);
  });

  it('is not sure when the trunk goes a short way straight down', () => {
    const trunk = [joint.shoulderL, joint.shoulderR, joint.hipL, joint.hipR, joint.wristL, joint.wristR];
    const down = (byM: number) => sureness((t) => moved(squatting(0), [0, -byM * depth(t), 0], trunk));
    expect(down(0.5)).toBeGreaterThan(0.9);
    expect(down(0.25)).toBeLessThan(0.8);
  });
});

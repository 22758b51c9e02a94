import { describe, expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { courseOf, pulling, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 50, heightM: 1.5, distanceM: 3 };
const eased = (x: number) => ((share) => share * share * (3 - 2 * share))(Math.min(1, Math.max(0, x)));
/** From 0 up to 1 in a second at each of the times, and down again 1.6 s later, but for the last one of `held`. */
const ups = (starts: number[], held: boolean) => (t: number) =>
  starts.reduce((up, start, at) => {
    const staysUp = held && at === starts.length - 1;
    return up + eased(t - start) - (staysUp ? 0 : eased(t - start - 1.6));
  }, 0);

const repsOf = (course: ReturnType<typeof courseOf>, lift: string, flow: Parameters<typeof lifterOf>[1] = []) => {
  const { readings, movement } = lifterOf(course, flow)!;
  expect(readings[0]!.lift).toBe(lift);
  return readings[0]!.cycles.map(({ end }) => movement.startS + end * movement.stepS);
};

describe('a last rep that is held when the clip ends', () => {
  /** The hands go up with the press; from `sinkS` on they sink by two fifths. */
  const pressing = (starts: number[], sinkS = Number.POSITIVE_INFINITY) =>
    courseOf(
      (t) => {
        const joints = squatting(0);
        const up = 0.6 * (ups(starts, true)(t) - 0.4 * eased(t - sinkS));
        for (const row of [joint.wristL, joint.wristR]) joints[row] = [joints[row]![0], joints[row]![1] + up, joints[row]![2]];
        return joints;
      },
      starts.at(-1)! + 2.2,
      stand,
    );

  it('is a rep of a press, done at the lockout', () => {
    const ends = repsOf(pressing([1, 4.5, 8]), 'press');
    expect(ends).toHaveLength(3);
    expect(Math.abs(ends[2]! - 9)).toBeLessThan(0.4);
  });

  it('is none when it does not stay at the lockout, or when there are too few others to know it by', () => {
    expect(repsOf(pressing([1, 4.5, 8], 9.2), 'press')).toHaveLength(2);
    expect(repsOf(pressing([1, 4.5]), 'press')).toHaveLength(1);
  });

  // bends down in the first second, then three pulls
  const starts = [2, 5, 8];
  const up = ups(starts, true);
  const pulls = courseOf((t) => pulling(eased(t) - up(t)), 10.5, stand);
  /** What moves around the hands rises by 0.5 m in the first two pulls and by `lastM` in the last one. */
  const flow = (lastM: number) => {
    const [person] = pulls.people;
    const { pxPerM } = movementOf(person!);
    const height = (t: number) => 0.5 * ups(starts.slice(0, 2), false)(t) + lastM * ups(starts.slice(2), true)(t);
    return person!.samples.slice(1).map(({ timeS: toS }, i) => {
      const fromS = person!.samples[i]!.timeS;
      return { personId: person!.id, fromS, toS, upPx: pxPerM * (height(toS) - height(fromS)) };
    });
  };

  it('is a rep of a deadlift where the bar came up too, and standing up without it otherwise', () => {
    const ends = repsOf(pulls, 'deadlift', flow(0.5));
    expect(ends).toHaveLength(3);
    expect(Math.abs(ends[2]! - 9)).toBeLessThan(0.4);
    expect(repsOf(pulls, 'deadlift', flow(0.3))).toHaveLength(2);
    expect(repsOf(pulls, 'deadlift')).toHaveLength(2);
  });
});

import { describe, expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { setWithMisread } from '../../workers/stages/reps.ts';
import { courseOf, flowOf, pulling, squatting } from './stick-figure.ts';

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

describe('a pull from the floor', () => {
  const starts = [2, 6];
  const up = ups(starts, false);
  // the hands wander up by 8 cm while the lifter settles, from half a second before each pull
  const wandering = (t: number) =>
    0.08 * Math.max(...starts.map((start) => (t > start + 1 ? 0 : eased((t - start + 0.5) / 0.2))));
  const course = courseOf(
    (t) => {
      const joints = pulling(eased(t) - up(t));
      for (const row of [joint.wristL, joint.wristR])
        joints[row] = [joints[row]![0], joints[row]![1] + (1 - up(t)) * wandering(t), joints[row]![2]];
      return joints;
    },
    10.5,
    stand,
  );
  const beginsAt = (flow: Parameters<typeof lifterOf>[1]) => {
    const { readings, movement } = lifterOf(course, flow)!;
    expect(readings[0]!.lift).toBe('deadlift');
    return movement.startS + readings[0]!.cycles[1]!.start * movement.stepS;
  };

  it('begins when hands and bar leave the floor', () => {
    const byHands = beginsAt([]);
    expect(byHands).toBeLessThan(5.8);
    expect(Math.abs(beginsAt(flowOf(course, (t) => 0.5 * up(t))) - 6)).toBeLessThan(0.1);
  });

  it('held when the clip ends speaks for a deadlift less where the bar stayed down: it is standing up without it', () => {
    const pull = courseOf((t) => pulling(eased(t) - eased(t - 2)), 4, stand);
    const scoreWith = (barM: number) =>
      lifterOf(
        pull,
        flowOf(pull, (t) => barM * eased(t - 2)),
      )!.readings.find(({ lift }) => lift === 'deadlift')!.score;
    // before the pull the hands go down as far without the bar
    expect(scoreWith(0.1)).toBeLessThan(0.6 * scoreWith(0.5));
  });

  it('begins when the hands leave the floor where the bar was not followed', () => {
    expect(beginsAt(flowOf(course, (t) => 0.5 * ups([2], false)(t) + 0.02 * ups([6], false)(t)))).toBe(beginsAt([]));
  });
});

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
  const flow = (lastM: number) =>
    flowOf(pulls, (t) => 0.5 * ups(starts.slice(0, 2), false)(t) + lastM * ups(starts.slice(2), true)(t));

  it('is a rep of a deadlift where the bar came up too, and standing up without it otherwise', () => {
    const ends = repsOf(pulls, 'deadlift', flow(0.5));
    expect(ends).toHaveLength(3);
    expect(Math.abs(ends[2]! - 9)).toBeLessThan(0.4);
    expect(repsOf(pulls, 'deadlift', flow(0.3))).toHaveLength(2);
    expect(repsOf(pulls, 'deadlift')).toHaveLength(2);
  });

  it('is compared with the pulls in which the bar was followed', () => {
    const [set, last] = [[2, 5, 8, 11], [14]];
    const held = ups([...set, ...last], true);
    const course = courseOf((t) => pulling(eased(t) - held(t)), 16.5, stand);
    const barOf = (lastM: number) =>
      flowOf(course, (t) => 0.5 * ups([2, 11], false)(t) + 0.02 * ups([5, 8], false)(t) + lastM * ups(last, true)(t));
    expect(repsOf(course, 'deadlift', barOf(0.5))).toHaveLength(5);
    expect(repsOf(course, 'deadlift', barOf(0.25))).toHaveLength(4);
  });
});

describe('a bar that comes down faster than the body is seen to', () => {
  // bends down in the first second, pulls at 2 s and stands there until the end
  const pull = courseOf((t) => pulling(eased(t) - eased(t - 2)), 8, stand);
  /** The bar comes up with the pull and down by `downM` in 0.4 s from 5 s on; then it seems to sink slowly with the hands. */
  const readingOf = (downM: number) => {
    const flow = flowOf(pull, (t) => 0.5 * eased(t - 2) - downM * eased((t - 5) / 0.4) - 0.1 * eased((t - 6) / 2));
    const { readings, movement } = lifterOf(pull, flow)!;
    expect(readings[0]!.lift).toBe('deadlift');
    const [cycle] = readings[0]!.cycles;
    const { startS, stepS } = movement;
    return { ...cycle!, turnS: startS + cycle!.turn * stepS, endS: startS + cycle!.end * stepS };
  };

  it('is put down or dropped: a whole rep that ends when the bar is down', () => {
    const { turnS, endS, complete, score } = readingOf(0.4);
    expect([Math.abs(turnS - 3) < 0.4, Math.abs(endS - 5.4) < 0.3, complete]).toEqual([true, true, true]);
    expect(score).toBeGreaterThan(0.9);
  });

  it('is still held where it does not come down half its way up', () => {
    const { endS, complete, score } = readingOf(0.1);
    expect([Math.abs(endS - 3) < 0.4, complete]).toEqual([true, false]);
    expect(score).toBeLessThan(0.6);
  });
});

describe('a pull whose shoulders are not seen to come up', () => {
  // bends down in the first second, then four pulls, each of them put down again
  const starts = [2, 5, 8, 11];
  const up = ups(starts, false);
  /** In the last pull the shoulders are read lower at the top than they are, and the hands rise by this share of what they do in the others. */
  const pulls = (handsShare: number) =>
    courseOf(
      (t) => {
        const down = eased(t) - up(t);
        const joints = pulling(down);
        if (t < 10) return joints;
        const low = pulling(0.8 + 0.2 * down);
        const hand = pulling(1 - handsShare * (1 - down));
        for (const row of [joint.shoulderL, joint.shoulderR]) joints[row] = low[row]!;
        for (const row of [joint.wristL, joint.wristR]) joints[row] = hand[row]!;
        return joints;
      },
      15,
      stand,
    );
  const ends = (handsShare: number, lastM: number) => {
    const course = pulls(handsShare);
    const height = (t: number) => 0.5 * ups(starts.slice(0, 3), false)(t) + lastM * ups(starts.slice(3), false)(t);
    return repsOf(course, 'deadlift', flowOf(course, height));
  };

  it('is one of the set where the bar goes as far as in the others and the hands with it', () => {
    expect(repsOf(pulls(1), 'deadlift')).toHaveLength(3);
    const told = ends(1, 0.5);
    expect(told).toHaveLength(4);
    expect(Math.abs(told[3]! - 13.6)).toBeLessThan(0.4);
  });

  it('is none where the bar goes a shorter way, or without the hands', () => {
    expect(ends(1, 0.3)).toHaveLength(3);
    expect(ends(0.2, 0.5)).toHaveLength(3);
  });
});

describe('what is looked at closely', () => {
  /** Presses at two times, and one at 1 s in which the hands are lost half-way and the bar goes so far. */
  const setFrom = (first: number, firstBarM: number | null) => {
    const hands = ups([first, first + 3.5], false);
    const lost = ups([1], false);
    const course = courseOf(
      (t) => {
        const joints = squatting(0);
        const up = 0.6 * Math.max(hands(t), Math.min(0.4, lost(t)));
        for (const row of [joint.wristL, joint.wristR]) joints[row] = [joints[row]![0], joints[row]![1] + up, joints[row]![2]];
        return joints;
      },
      first + 7.5,
      stand,
    );
    const flow = firstBarM === null ? [] : flowOf(course, (t) => firstBarM * lost(t) + 0.6 * hands(t));
    const { readings, movement } = lifterOf(course, flow)!;
    expect(readings[0]).toMatchObject({ lift: 'press', cycles: { length: 2 } });
    return movement.startS + setWithMisread(movement, readings[0]!)[0] * movement.stepS;
  };

  it.each([
    ['begins with a way of the bar as far as in the reps, though the hands were lost in it', 4.5, 0.6, 1],
    ['begins with the reps where the bar was not followed', 4.5, null, 4.5],
    ['begins with the reps where the bar went a shorter way before them', 4.5, 0.3, 4.5],
    ['begins with the reps where the bar went as far long before them', 9, 0.6, 9],
  ])('%s', (_, first, firstBarM, startS) => {
    expect(Math.abs(setFrom(first, firstBarM) - startS)).toBeLessThan(0.3);
  });
});

import { describe, expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf, mainPersonOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { turnCourse, turnNeeded } from '../../workers/stages/turn-course.ts';
import { courseOf, depthOf, lying, pulling, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 130, heightM: 1.5, distanceM: 3 };

describe('lift and reps', () => {
  it.each([
    [[1], 1],
    [[2, 5.5], 2],
    [[1, 4, 7, 10, 13], 5],
  ])('counts squats that start at %j', (starts, count) => {
    const depth = depthOf(starts);
    const lifter = lifterOf(courseOf((t) => squatting(depth(t)), starts.at(-1)! + 4.5, stand))!;
    const [reading] = lifter.readings;
    expect(reading!.lift).toBe('squat');
    expect(reading!.cycles).toHaveLength(count);
    const at = (index: number) => lifter.movement.startS + index * lifter.movement.stepS;
    reading!.cycles.forEach((cycle, i) => {
      expect(Math.abs(at(cycle.start) - starts[i]!)).toBeLessThan(0.4);
      expect(Math.abs(at(cycle.turn) - starts[i]! - 1.2)).toBeLessThan(0.15);
      expect(Math.abs(at(cycle.end) - starts[i]! - 2.4)).toBeLessThan(0.4);
    });
  });

  it.each([
    [0.5, true],
    [0.2, false],
  ])('is sure of a squat whose ways down and up take %f s each: %s', (wayS, sure) => {
    // half a sine of the depth; a spotter whom a swung phone shows elsewhere goes down and up as quickly
    const depth = (t: number) => (t < 2 || t > 2 + 2 * wayS ? 0 : Math.sin(((t - 2) / (2 * wayS)) * Math.PI));
    const scores = lifterOf(courseOf((t) => squatting(depth(t)), 5, stand))?.readings.map(({ score }) => score) ?? [];
    expect(Math.max(0, ...scores) > 0.6).toBe(sure);
  });

  it('reads a pull from the floor as a deadlift, and standing up afterwards as no rep', () => {
    // bends down to 2 s, pulls at 3 s, lowers, holds, stands up at 7 s
    const hinge = (t: number) =>
      t < 1 ? 0 : t < 2 ? t - 1 : t < 3 ? 1 : t < 4 ? 4 - t : t < 5 ? 0 : t < 6 ? t - 5 : t < 7 ? 1 : t < 8 ? 8 - t : 0;
    const smooth = (x: number) => x * x * (3 - 2 * x);
    const lifter = lifterOf(courseOf((t) => pulling(smooth(hinge(t))), 10, { ...stand, azimuthDeg: 50 }))!;
    expect(lifter.readings[0]!.lift).toBe('deadlift');
    expect(lifter.readings[0]!.cycles).toHaveLength(1);
  });

  // bends down in the first second, then pulls that begin at the given times: up in 1 s, held for 0.6 s, down in 1 s
  const pulls = (starts: number[]) => (t: number) => {
    const eased = (x: number) => ((share) => share * share * (3 - 2 * share))(Math.min(1, Math.max(0, x)));
    return starts.reduce((down, start) => down - eased(t - start) + eased(t - start - 1.6), eased(t));
  };
  const deadlift = (jointsAt: (timeS: number) => ReturnType<typeof pulling>, lengthS: number) => {
    const lifter = lifterOf(courseOf(jointsAt, lengthS, { ...stand, azimuthDeg: 50 }))!;
    const [reading] = lifter.readings;
    expect(reading!.lift).toBe('deadlift');
    return reading!.cycles.map((cycle) => lifter.movement.startS + cycle.start * lifter.movement.stepS);
  };

  it('reads a pull whose bar is dropped at the top, after which the lifter slowly walks off', () => {
    const eased = (x: number) => ((share) => share * share * (3 - 2 * share))(Math.min(1, Math.max(0, x)));
    const course = courseOf(
      (t) => {
        // straightens up a little more on the way
        const away = eased((t - 4.2) / 2.5);
        const [aside, up] = [0.45 * away, 0.02 * away];
        const joints = Object.entries(pulling(eased(t) - eased(t - 2)));
        return Object.fromEntries(joints.map(([row, [x, y, z]]) => [row, [x + aside, y + up, z]]));
      },
      8,
      { ...stand, azimuthDeg: 0 },
    );
    const { readings, movement } = lifterOf(course)!;
    expect(readings[0]!.lift).toBe('deadlift');
    const [pull] = readings[0]!.cycles;
    expect(pull!.score).toBeCloseTo(0.5, 1);
    expect(Math.abs(movement.startS + pull!.end * movement.stepS - 3)).toBeLessThan(0.4);
  });

  /** A pull whose hands seem higher than they are. */
  const handsUp = (depth: number, up: number) => {
    const joints = pulling(depth);
    for (const row of [joint.wristL, joint.wristR]) joints[row] = [joints[row]![0], joints[row]![1] + up, joints[row]![2]];
    return joints;
  };

  it('reads a deadlift whose hands plates hide, so that they seem to be at the hips', () => {
    const down = pulls([2, 6]);
    expect(deadlift((t) => handsUp(down(t), 0.33 * (1 - down(t))), 10)).toHaveLength(2);
  });

  it('counts a rep that goes the way of the others though its hands were misread', () => {
    const down = pulls([2, 6, 10]);
    expect(deadlift((t) => handsUp(down(t), t > 5 && t < 9 ? 0.45 * (1 - down(t)) : 0), 14)).toHaveLength(3);
  });

  it('begins a pull when the bar leaves the floor, not when the lifter takes up the slack', () => {
    const down = pulls([3]);
    const jointsAt = (t: number) => {
      // the trunk rises for a second and a half before
      const slack = t > 4 ? 0 : 0.3 * Math.min(1, Math.max(0, (t - 1.5) / 1.5)) * down(t);
      const joints = pulling(down(t) - slack);
      const hands = pulling(down(t));
      return { ...joints, [joint.wristL]: hands[joint.wristL]!, [joint.wristR]: hands[joint.wristR]! };
    };
    const [startS] = deadlift(jointsAt, 8);
    expect(Math.abs(startS! - 3)).toBeLessThan(0.3);
  });

  it('takes no deadlift from a pull whose hands come to the shoulders at the top', () => {
    const down = pulls([2]);
    const raised = (t: number) => handsUp(down(t), t > 3.35 && t < 3.95 ? 0.55 : 0);
    const readings = (jointsAt: typeof raised) => lifterOf(courseOf(jointsAt, 7, { ...stand, azimuthDeg: 50 }))?.readings ?? [];
    const score = (jointsAt: typeof raised) => readings(jointsAt).find(({ lift }) => lift === 'deadlift')?.score ?? 0;
    expect(score((t) => pulling(down(t)))).toBeGreaterThan(0.9);
    expect(score(raised)).toBeLessThan(0.1);
  });

  it('counts one rep of a bench press whose hands are read wrong for a moment on the way up', () => {
    // down from 1 to 2.2 s, up until 4.6 s; around 3.6 s the hands seem to fall back
    const slip = (t: number) => 0.7 * Math.exp(-(((t - 3.6) / 0.2) ** 2));
    const depth = (t: number) =>
      t < 1 || t > 4.6
        ? 0
        : t < 2.2
          ? (1 - Math.cos(((t - 1) / 1.2) * Math.PI)) / 2
          : (1 + Math.cos(((t - 2.2) / 2.4) * Math.PI)) / 2;
    const lifter = lifterOf(courseOf((t) => lying(depth(t) + slip(t)), 7, { ...stand, azimuthDeg: 45 }))!;
    const [reading] = lifter.readings;
    expect(reading!.lift).toBe('bench');
    expect(reading!.cycles).toHaveLength(1);
    expect(Math.abs(reading!.cycles[0]!.end * lifter.movement.stepS - 4.6)).toBeLessThan(0.4);
  });

  it('is not sure of hands that fall quicker than any rep of a bench press, and counts no bar unracked', () => {
    const wave = (t: number, startS: number, lengthS: number) =>
      t < startS || t > startS + lengthS ? 0 : (1 - Math.cos(((t - startS) / lengthS) * 2 * Math.PI)) / 2;
    const readingOf = (depth: (t: number) => number) =>
      lifterOf(courseOf((t) => lying(depth(t)), 9, { ...stand, azimuthDeg: 45 }))!.readings[0]!;
    expect(readingOf((t) => wave(t, 3, 2)).score).toBeGreaterThan(0.9);
    expect(readingOf((t) => wave(t, 3, 0.4)).score).toBeLessThan(0.5);
    expect(readingOf((t) => 0.48 * wave(t, 1, 2) + wave(t, 5, 2.4)).cycles).toHaveLength(1);
  });

  it('counts a press after a walk across the room that moves the hands farther in the picture than the rep', () => {
    const up = depthOf([7]);
    // from beside the camera to the bar in 2.5 s, then 3 s in place
    const away = (t: number) => 1.9 * (1 - Math.min(1, t / 2.5));
    const pressing = (t: number) => {
      const joints = squatting(0);
      for (const row of [joint.wristL, joint.wristR])
        joints[row] = [joints[row]![0], joints[row]![1] + 0.5 * up(t), joints[row]![2]];
      return Object.fromEntries(Object.entries(joints).map(([row, [x, y, z]]) => [row, [x, y, z + away(t)]] as const));
    };
    const lifter = lifterOf(
      courseOf((t) => pressing(t) as ReturnType<typeof squatting>, 11, { azimuthDeg: 20, heightM: 2.2, distanceM: 3 }),
    )!;
    const [reading] = lifter.readings;
    expect(reading!.lift).toBe('press');
    expect(reading!.cycles).toHaveLength(1);
    expect(reading!.score).toBeGreaterThan(0.8);
    expect(Math.abs(reading!.cycles[0]!.start * lifter.movement.stepS - 7)).toBeLessThan(0.4);
  });

  it.each([
    ['is one of somebody who stands still', 1, 0, 1],
    ['is none where the body goes along', 1, 0.5, 0],
    ['is none that is over in half a second', 4, 0, 0],
  ])('a press whose hands seem to hang half-way at first, as plates make them, %s', (_, faster, dip, count) => {
    const up = depthOf([2]);
    const at = (t: number) => up(2 + (t - 2) * faster);
    const pressing = (t: number) => {
      const joints = squatting(dip * at(t));
      for (const row of [joint.wristL, joint.wristR]) {
        const [x, , z] = joints[row]!;
        joints[row] = [x, joints[joint.shoulderL]![1] - 0.42 + 0.9 * at(t), z];
      }
      return joints;
    };
    const lifter = lifterOf(courseOf(pressing, 7, { azimuthDeg: 90, heightM: 1.4, distanceM: 3 }));
    const press = lifter?.readings.find(({ lift }) => lift === 'press');
    expect((press?.cycles ?? []).filter(({ score }) => score > 0.5)).toHaveLength(count);
  });

  describe('where the bar is followed in a squat', () => {
    const depth = depthOf([2]);
    /** The bar goes as far down as the shoulders of the figure do, 0.56 m. */
    const flowOf = ({ people }: ReturnType<typeof courseOf>, downM = 0.56) => {
      const { id, samples } = people[0]!;
      const { pxPerM } = movementOf(people[0]!);
      return samples.slice(1).map(({ timeS: toS }, i) => {
        const fromS = samples[i]!.timeS;
        return { personId: id, fromS, toS, upPx: downM * pxPerM * (depth(fromS) - depth(toS)) };
      });
    };
    const raised = (joints: ReturnType<typeof squatting>, byM: (y: number) => number) =>
      Object.fromEntries(Object.entries(joints).map(([row, [x, y, z]]) => [row, [x, y + byM(y), z]] as const)) as typeof joints;

    it('ends the rep with the bar, when the joints are read wrong for a while after it', () => {
      // after the rep what is read of the body is still to come up for three seconds
      const late = (t: number) => (t < 4 ? 0 : -0.1 * Math.max(0, 1 - (t - 4) / 3));
      const course = courseOf(
        (t) => raised(squatting(depth(t)), (y) => (y > 1.2 ? late(t) * Math.min(1, (t - 4) / 0.3) : 0)),
        9,
        stand,
      );
      const end = (flow: ReturnType<typeof flowOf>) => {
        const { readings, movement } = lifterOf(course, flow)!;
        return readings[0]!.cycles.map((cycle) => cycle.end * movement.stepS - 4.4);
      };
      expect(Math.abs(end(flowOf(course))[0]!)).toBeLessThan(Math.abs(end([])[0]!) - 0.3);
    });

    it('knows the squat whose trunk seems to lie at the bottom, and takes no bar that goes its own way for a witness', () => {
      // the shoulders are seen down at the hips at the bottom
      const course = courseOf((t) => raised(squatting(depth(t)), (y) => (y > 0.75 ? -0.42 * depth(t) ** 4 : 0)), 7, stand);
      const score = (flow: ReturnType<typeof flowOf>) =>
        lifterOf(course, flow)?.readings.find(({ lift }) => lift === 'squat')?.score ?? 0;
      expect(score([])).toBeLessThan(0.3);
      expect(score(flowOf(course, 0.8))).toBeGreaterThan(0.5);
      expect(score(flowOf(course, 0.2))).toBe(score([]));
    });
  });

  describe('where the hands cannot be seen to move', () => {
    // the bar goes down 0.35 m and up again at 1 and 4.5 s
    const depth = depthOf([1, 4.5]);
    const flowOf = ({ people }: ReturnType<typeof courseOf>) => {
      const { id, samples } = people[0]!;
      const pxPerM = movementOf(people[0]!).pxPerM;
      return samples.slice(1).map(({ timeS: toS }, i) => {
        const fromS = samples[i]!.timeS;
        return { personId: id, fromS, toS, upPx: 0.35 * pxPerM * (depth(fromS) - depth(toS)) };
      });
    };

    it('counts the reps of a bench press by the bar', () => {
      const course = courseOf(() => lying(0), 8.5, { ...stand, azimuthDeg: 45 });
      expect(lifterOf(course)).toBeNull();
      const { readings, movement } = lifterOf(course, flowOf(course))!;
      expect(readings.map(({ lift }) => lift)).toEqual(['bench']);
      const timesS = readings[0]!.cycles.map(({ start, turn, end }) => [start, turn, end].map((at) => at * movement.stepS));
      expect(timesS).toHaveLength(2);
      for (const [i, startS] of [1, 4.5].entries()) {
        for (const [k, afterS] of [0, 1.2, 2.4].entries()) expect(Math.abs(timesS[i]![k]! - startS - afterS)).toBeLessThan(0.3);
      }
    });

    it('takes no bench press from something that moves before a person who stands, or from a bar that is lost half the time', () => {
      const standing = courseOf(() => squatting(0), 8.5, stand);
      expect(lifterOf(standing, flowOf(standing))).toBeNull();
      const course = courseOf(() => lying(0), 8.5, { ...stand, azimuthDeg: 45 });
      expect(
        lifterOf(
          course,
          flowOf(course).filter((_, i) => i % 2 === 0),
        ),
      ).toBeNull();
    });
  });

  it('finds no lift in a person who only stands', () => {
    const course = courseOf(() => squatting(0), 5, stand);
    expect(lifterOf(course)).toBeNull();
    expect(mainPersonOf(course)?.id).toBe(1);
  });
});

describe('orientation', () => {
  it.each([0, 90, 180, 270] as const)('finds that a picture must be turned by %d degrees', (turnDeg) => {
    const course = courseOf((t) => squatting(depthOf([1, 4])(t)), 8, stand);
    const back = ((360 - turnDeg) % 360) as typeof turnDeg;
    const played = turnCourse(course, back);
    expect(turnNeeded(played)?.turnDeg).toBe(turnDeg);
    const again = turnCourse(played, turnDeg);
    expect([again.widthPx, again.heightPx]).toEqual([course.widthPx, course.heightPx]);
    const far = again.people[0]!.samples.map((s, i) =>
      Math.max(...s.pose.points.map((v, k) => Math.abs(v - course.people[0]!.samples[i]!.pose.points[k]!))),
    );
    expect(Math.max(...far)).toBeLessThan(0.01);
  });
});

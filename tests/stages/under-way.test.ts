import { describe, expect, it } from 'vitest';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { courseOf, depthOf, pulling, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 50, heightM: 1.5, distanceM: 3 };

describe('a first rep that had begun before the clip', () => {
  /** Reps of 2.4 s, the first one begun `beforeS` before the clip, and two more. */
  const depthFrom = (beforeS: number, firstWay = 1) => {
    const [first, others] = [depthOf([-beforeS]), depthOf([3.5 - beforeS, 7 - beforeS])];
    return (t: number) => Math.max(firstWay * first(t), others(t));
  };
  const cyclesOf = (course: ReturnType<typeof courseOf>, flow: Parameters<typeof lifterOf>[1] = []) => {
    const { readings, movement } = lifterOf(course, flow)!;
    return readings[0]!.cycles.map((c) => [c.start, c.turn, c.end].map((at) => movement.startS + at * movement.stepS));
  };
  const squats = (beforeS: number, firstWay = 1) => {
    const depth = depthFrom(beforeS, firstWay);
    return cyclesOf(courseOf((t) => squatting(depth(t)), 10, stand));
  };

  it('is counted when most of its way to the turn is seen', () => {
    const cycles = squats(0.5);
    expect(cycles).toHaveLength(3);
    const [start, turn, end] = cycles[0]!;
    expect(start).toBe(0);
    expect(Math.abs(turn! - 0.7)).toBeLessThan(0.15);
    expect(Math.abs(end! - 1.9)).toBeLessThan(0.3);
  });

  it('is not counted when it is nearly over its turn, or goes another way than the others', () => {
    expect(squats(0.9)).toHaveLength(2);
    expect(squats(0.5, 0.7)).toHaveLength(2);
  });

  it('is a deadlift where bar and hands come up with it, and standing up without the bar otherwise', () => {
    const depth = depthFrom(0.5);
    const pulls = courseOf((t) => pulling(1 - depth(t)), 10, stand);
    const [person] = pulls.people;
    const { pxPerM } = movementOf(person!);
    const flow = (firstM: number) => {
      const height = (t: number) => (t < 2 ? firstM : 0.5) * depth(t);
      return person!.samples.slice(1).map(({ timeS: toS }, i) => {
        const fromS = person!.samples[i]!.timeS;
        return { personId: person!.id, fromS, toS, upPx: pxPerM * (height(toS) - height(fromS)) };
      });
    };
    expect(cyclesOf(pulls, flow(0.5))).toHaveLength(3);
    expect(cyclesOf(pulls, flow(0.3))).toHaveLength(2);
    expect(cyclesOf(pulls)).toHaveLength(2);
  });
});

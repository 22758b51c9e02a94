import { expect, it } from 'vitest';
import { joint } from '../../workers/pose/types.ts';
import { lifterOf } from '../../workers/stages/lifter.ts';
import { courseOf, squatting } from './stick-figure.ts';

const feet: number[] = [joint.ankleL, joint.ankleR, joint.heelL, joint.heelR, joint.toeL, joint.toeR];

/** Two squats with the hips down to 0.3 m above the ankles; the hands stay this far below the hips, metres. */
const squats = (belowHipsM: number) =>
  courseOf(
    (t) => {
      const depth = t < 1 || t > 6.6 ? 0 : (1 - Math.cos(((t - 1) / 2.8) * 2 * Math.PI)) / 2;
      const low = Object.entries(squatting(depth)).map(([row, [x, y, z]]) => {
        const downM = feet.includes(Number(row)) ? 0 : 0.13 * depth;
        return [Number(row), [x, y - downM, z] as [number, number, number]] as const;
      });
      const joints = Object.fromEntries(low);
      const hipY = joints[joint.hipL]![1];
      for (const row of [joint.wristL, joint.wristR]) joints[row] = [joints[row]![0], hipY - belowHipsM, 0.3];
      return joints;
    },
    8,
    { azimuthDeg: 80, heightM: 1, distanceM: 3 },
  );

it('knows a deep squat without a bar by hands that hang beside the hips', () => {
  const { readings } = lifterOf(squats(0.02))!;
  expect(readings[0]!.lift).toBe('squat');
  expect(readings[0]!.cycles).toHaveLength(2);
});

it('takes none for one when the hands go to the floor', () => {
  expect(lifterOf(squats(0.2))?.readings.map(({ lift }) => lift) ?? []).not.toContain('squat');
});

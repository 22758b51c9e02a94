import { describe, expect, test } from 'vitest';
import { liftOf } from '../../src/lifts/index.ts';
import { probabilityAbove, probabilityOutside } from '../../src/rules/likelihood.ts';
import { nearestAim } from '../../src/rules/zones.ts';

const wrap = (deg: number) => ((((deg + 180) % 360) + 360) % 360) - 180;

/** The same probability by plain summing of the density on a fine grid, one angle after the other. */
function summed(
  zones: readonly { fromDeg: number; toDeg: number }[],
  azimuthDeg: number,
  spreadDeg: number,
  confidence: number,
): number {
  const sigma = spreadDeg / 1.645;
  const stepDeg = sigma / 2000;
  let outside = 0;
  let total = 0;
  for (let x = -10 * sigma; x < 10 * sigma; x += stepDeg) {
    const density = Math.exp(-(((x + stepDeg / 2) / sigma) ** 2) / 2);
    total += density;
    for (const [centre, weight] of [
      [azimuthDeg, confidence],
      [180 - azimuthDeg, 1 - confidence],
    ] as const) {
      const a = Math.abs(wrap(centre + x + stepDeg / 2));
      if (!zones.some(({ fromDeg, toDeg }) => a >= fromDeg && a <= toDeg)) outside += density * weight;
    }
  }
  return outside / total;
}

describe('probability of standing outside the zones', () => {
  const cases = ['squat', 'press', 'deadlift', 'bench'].flatMap((lift) =>
    [-170, -93, -45, 0, 30, 88, 112.5, 135, 160, 180].flatMap((azimuthDeg) =>
      [
        [4, 1],
        [15, 0.8],
        [50, 0.55],
      ].map(([spreadDeg, confidence]) => ({ lift, azimuthDeg, spreadDeg: spreadDeg!, confidence: confidence! })),
    ),
  );
  test.each(cases)(
    '$lift at $azimuthDeg, spread $spreadDeg, confidence $confidence',
    ({ lift, azimuthDeg, spreadDeg, confidence }) => {
      const { zones } = liftOf(lift as 'squat')!;
      expect(probabilityOutside(zones, azimuthDeg, spreadDeg, confidence)).toBeCloseTo(
        summed(zones, azimuthDeg, spreadDeg, confidence),
        3,
      );
    },
  );

  test('zones that reach straight front and straight rear are whole', () => {
    const front = [{ fromDeg: 0, toDeg: 22.5, aimDeg: 0 }];
    const rear = [{ fromDeg: 157.5, toDeg: 180, aimDeg: 180 }];
    expect(probabilityOutside(front, 0, 5, 1)).toBeCloseTo(0, 6);
    expect(probabilityOutside(rear, 180, 5, 1)).toBeCloseTo(0, 6);
    expect(probabilityOutside(rear, -180, 5, 1)).toBeCloseTo(0, 6);
    expect(probabilityOutside(rear, 0, 5, 0)).toBeCloseTo(0, 6);
  });
});

test('the 90 % interval holds 90 %', () => {
  expect(probabilityAbove(10, 3, 7) - probabilityAbove(10, 3, 13)).toBeCloseTo(0.9, 3);
  expect(probabilityAbove(10, 0, 9)).toBe(1);
  expect(probabilityAbove(10, 0, 10)).toBe(0);
});

test('the nearest aim stays on the side of the camera', () => {
  const { zones } = liftOf('press')!;
  expect(nearestAim(zones, -10)).toBe(-45);
  expect(nearestAim(zones, 10)).toBe(45);
  expect(nearestAim(zones, -170)).toBe(-135);
  expect(nearestAim(zones, 180)).toBe(135);
  expect(nearestAim(zones, 67.5)).toBe(90);
});

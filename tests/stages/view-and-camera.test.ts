import { describe, expect, it } from 'vitest';
import { known, unknown } from '../../src/facts/fact.ts';
import { wrapDeg } from '../../src/facts/view.ts';
import { cameraOf } from '../../workers/stages/camera.ts';
import { viewOf } from '../../workers/stages/view.ts';
import { poseOf, squatting } from './stick-figure.ts';

const size = [288, 512] as const;
const poses = (azimuthDeg: number, heightM: number, distanceM: number) =>
  [0, 0.2, 0.5, 0.8, 1, 0.6, 0.1, 0].map((depth) => poseOf(squatting(depth), { azimuthDeg, heightM, distanceM }, size, 69.4));

const picture = (pitchDeg?: number) => ({
  ...{ widthPx: size[0], heightPx: size[1] },
  pitchDeg: pitchDeg === undefined ? unknown<number>('ambiguous') : known(pitchDeg, { spread: 1 }),
});

describe('view, against three.js', () => {
  it.each([0, 30, -45, 75, 90, -110, 135, -160, 180])('finds a camera at %d degrees', (azimuthDeg) => {
    const [lines, both] = [viewOf(poses(azimuthDeg, 1.5, 3), 'squat', null), viewOf(poses(azimuthDeg, 1.5, 3), 'squat')];
    if (!lines.known || !both.known) throw new Error('both are known');
    // the hips move back by up to 0.25 m in the squat, seen from 3 m
    expect(Math.abs(wrapDeg(lines.value.azimuthDeg - azimuthDeg))).toBeLessThan(3.5);
    // the networks know bodies, not sticks
    expect(Math.abs(wrapDeg(both.value.azimuthDeg - azimuthDeg))).toBeLessThan(10);
  });

  it('does not tell from too few poses, nor from poses that point all ways', () => {
    expect(viewOf(poses(90, 1.5, 3).slice(0, 3), 'squat')).toEqual({ known: false, reason: 'too-few-frames' });
    const mixed = [0, 90, 180, -90].flatMap((deg) => poses(deg, 1.5, 3));
    expect(viewOf(mixed, 'squat')).toEqual({ known: false, reason: 'ambiguous' });
  });

  it('is less sure of a view when some poses are flipped', () => {
    const clear = viewOf(poses(120, 1.5, 3), 'squat');
    const flipped = viewOf([...poses(120, 1.5, 3), ...poses(-60, 1.5, 3).slice(0, 2)], 'squat');
    if (!clear.known || !flipped.known) throw new Error('both are known');
    expect(flipped.value.class).toBe(clear.value.class);
    expect(flipped.confidence).toBeLessThan(clear.confidence!);
    expect(flipped.spread).toBeGreaterThan(clear.spread!);
  });
});

describe('camera, against three.js', () => {
  it.each([
    [135, 1.6, 3],
    [-135, 1.6, 3.5],
    [90, 1.2, 3],
    [60, 0.9, 4],
  ])('finds distance and elevation at %d degrees, %d m high, %d m away', (azimuthDeg, heightM, distanceM) => {
    const camera = cameraOf(poses(azimuthDeg, heightM, distanceM), 'squat', azimuthDeg, picture());
    if (!camera.distanceM.known || !camera.elevationDeg.known) throw new Error('known');
    expect(Math.abs(camera.distanceM.value / Math.hypot(distanceM, heightM - 0.92) - 1)).toBeLessThan(0.15);
    const elevationDeg = (Math.atan2(heightM - 0.92, distanceM) * 180) / Math.PI;
    // the readings are calibrated on the pose model's own bias, which exact joints do not have
    expect(Math.abs(camera.elevationDeg.value - elevationDeg)).toBeLessThan(10);
  });

  it('stands as much higher and farther as plates say that the lifter is taller, and is surer of both', () => {
    const seen = poses(120, 1.7, 3);
    const by = (stretch: number | null, pitchDeg?: number) => {
      const { distanceM, elevationDeg, heightClass } = cameraOf(seen, 'squat', 120, picture(pitchDeg), stretch);
      if (!distanceM.known || !elevationDeg.known || !heightClass.known) throw new Error('known');
      return {
        farM: distanceM.value,
        upDeg: elevationDeg.value,
        of: heightClass.value,
        sure: heightClass.confidence!,
        spreadM: distanceM.spread!,
      };
    };
    const usual = by(null);
    expect(by(1.1).farM).toBeCloseTo(1.1 * usual.farM, 1);
    expect(by(1).spreadM).toBeLessThan(0.7 * usual.spreadM);
    // hips of average stature, 1.73 m, are 0.53 of it high (Drillis and Contini); from 2 m on the camera is above head height
    const heightM = 0.53 * 1.73 + usual.farM * Math.tan((usual.upDeg * Math.PI) / 180);
    expect([by((0.98 * 2) / heightM).of, by((1.02 * 2) / heightM).of]).toEqual(['head', 'above']);
    expect(by(1, -12).sure).toBeGreaterThan(by(null, -12).sure);
  });

  it('orders heights', () => {
    const elevation = [0.1, 0.6, 1.1, 1.7].map((heightM) => {
      const { elevationDeg } = cameraOf(poses(120, heightM, 3), 'squat', 120, picture());
      return elevationDeg.known ? elevationDeg.value : Number.NaN;
    });
    expect(elevation).toEqual([...elevation].sort((a, b) => a - b));
  });

  it.each([
    {
      lift: 'squat',
      what: 'a share higher for one who stands lower in the picture, as the networks are used to the middle',
      share: 0.4,
    },
    { lift: 'bench', what: 'where the networks say for one who lies', share: 0 },
  ] as const)('sees the camera of a $lift $what', ({ lift, share }) => {
    const focalPx = size[1] / 2 / Math.tan((34.7 * Math.PI) / 180);
    const seen = poses(120, 1.1, 3);
    const lower = seen.map((pose) => ({ ...pose, points: pose.points.map((v, at) => (at % 5 === 1 ? v + 80 : v)) }));
    const deg = [seen, lower].map((some) => {
      const { elevationDeg } = cameraOf(some, lift, 120, picture());
      return elevationDeg.known ? elevationDeg.value : Number.NaN;
    });
    const hipsLowDeg = [seen, lower].map((some) => {
      const hipsPx = some.map(({ points }) => (points[23 * 5 + 1]! + points[24 * 5 + 1]!) / 2).sort((a, b) => a - b);
      return (Math.atan(((hipsPx[3]! + hipsPx[4]!) / 2 - size[1] / 2) / focalPx) * 180) / Math.PI;
    });
    expect(deg[1]! - deg[0]!).toBeCloseTo(share * (hipsLowDeg[1]! - hipsLowDeg[0]!), 0);
  });

  it.each([0.1, 0.5, 1, 1.65])('knows its height of %d m from the feet once the pitch is known', (heightM) => {
    // poseOf looks at a place 0.95 m up
    const pitchDeg = (Math.atan2(0.95 - heightM, 3) * 180) / Math.PI;
    const [without, withPitch] = [picture(), picture(pitchDeg)].map((seen) => {
      const { elevationDeg } = cameraOf(poses(120, heightM, 3), 'squat', 120, seen);
      if (!elevationDeg.known) throw new Error('known');
      return {
        offDeg: Math.abs(elevationDeg.value - (Math.atan2(heightM - 0.92, 3) * 180) / Math.PI),
        spread: elevationDeg.spread!,
      };
    });
    expect(withPitch!.offDeg).toBeLessThan(2.5);
    expect(withPitch!.spread).toBeLessThan(without!.spread);
  });

  it('tells nothing without poses', () => {
    const camera = cameraOf([], 'squat', 90, picture());
    expect([camera.distanceM.known, camera.elevationDeg.known, camera.heightClass.known]).toEqual([false, false, false]);
  });
});

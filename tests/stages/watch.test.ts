import { expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { type Detection, type Pose, pointWidth, type Region } from '../../workers/pose/types.ts';
import { createWatch } from '../../workers/stages/watch.ts';

const place = (cx: number): Region => ({ cx, cy: 180, sidePx: 150, angleRad: 0 });

/** All joints at x. */
function poseAt(x: number): Pose {
  const points = new Float32Array(33 * pointWidth);
  for (let row = 0; row < 33; row++) points.set([x, 180, 0, 0.9, 1], row * pointWidth);
  return { presence: 1, points, world: new Float32Array(99), next: place(x) };
}

const detection = (x: number): Detection => ({
  score: 1,
  box: { x: x - 15, y: 100, widthPx: 30, heightPx: 30 },
  hip: { x, y: 180 },
  top: { x, y: 120 },
  region: place(x),
});

it('keeps nothing of one who passed among the looks at the lifter, whose place they were followed from', async () => {
  let timeS = 0;
  const passer = () => 110 + Math.max(0, timeS - 2) * 90;
  // hides the lifter for 0.6 s and walks on
  const seen = () => (timeS < 2 ? [100] : timeS < 2.6 ? [passer()] : [passer(), 100]);
  const nearest = (cx: number) => seen().find((x) => Math.abs(x - cx) < 60);
  const look = async (region: Region) => {
    const x = nearest(region.cx);
    return x === undefined ? { ...poseAt(region.cx), presence: 0 } : poseAt(x);
  };
  const engine: PoseEngine = {
    detect: async () => seen().map(detection),
    landmarks: (_, region) => look(region),
    landmarksFromCrop: async (_, region) => poseAt(region.cx),
    close: async () => {},
  };
  const watch = createWatch(engine);
  for (let index = 0; index < 75; index++) {
    timeS = index / 15;
    await watch.push({ data: Buffer.alloc(640 * 360 * 3), widthPx: 640, heightPx: 360, timeS, index });
  }
  const [lifter, ...others] = watch.course().people;
  const farthest = (xs: number[]) => Math.max(...xs);
  expect(farthest(lifter!.samples.map(({ pose }) => pose.points[0]!))).toBeLessThan(150);
  expect(lifter!.samples.at(-1)!.timeS).toBeCloseTo(74 / 15);
  const looks = await watch.lookClosely(lifter!.id, 0, 5, 1000);
  expect(farthest(looks.map(({ pose }) => pose.points[0]!))).toBeLessThan(150);
  // with what it was read from
  expect(farthest(looks.map(({ square }) => square!.region.cx))).toBeLessThan(150);
  expect(looks[0]!.square!.crop).toHaveLength(256 * 256 * 3);
  expect(farthest(others.flatMap(({ samples }) => samples.map(({ pose }) => pose.points[0]!)))).toBeGreaterThan(300);
});

it('reads the square of somebody who stays in their place where the camera shows that place', async () => {
  const swayPx = (i: number) => (i % 3) * 20;
  const read: number[] = [];
  const engine = {
    landmarks: async (_, region) => {
      read.push(region.cx);
      return poseAt(region.cx);
    },
  } as Partial<PoseEngine> as PoseEngine;
  const path = Array.from({ length: 9 }, (_, i) => ({ timeS: i / 15, dxShare: swayPx(i) / 640, dyShare: 0 }));
  const watch = createWatch(engine, { region: place(100), path });
  for (const [index, { timeS }] of path.entries())
    await watch.push({ data: Buffer.alloc(640 * 360 * 3), widthPx: 640, heightPx: 360, timeS, index });
  // it mostly is 20 px to the right of where it was at first
  expect(read).toEqual([80, 100, 120, 80, 100, 120, 80, 100, 120]);
});

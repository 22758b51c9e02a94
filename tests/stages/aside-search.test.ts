import { expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { type Detection, type Pose, pointWidth, type Region } from '../../workers/pose/types.ts';
import { findAside, seeingOnly } from '../../workers/stages/aside-search.ts';

const size = { widthPx: 512, heightPx: 288 };
const place = (cx: number, sidePx: number): Region => ({ cx, cy: 150, sidePx, angleRad: 0 });
const detection = (cx: number, sidePx: number): Detection => ({
  score: 0.9,
  box: { x: cx - 10, y: 90, widthPx: 20, heightPx: 20 },
  hip: { x: cx, y: 150 },
  top: { x: cx, y: 90 },
  region: place(cx, sidePx),
});

/** Pictures in which something at 150 px goes up and down. */
const frames = Array.from({ length: 20 }, (_, i) => {
  const data = new Uint8Array(size.widthPx * size.heightPx * 3).fill(100);
  for (let y = 100; y < 200; y++)
    for (let x = 130; x < 170; x++)
      data.fill((y / 20 + i) % 4 < 2 ? 200 : 20, 3 * (y * size.widthPx + x), 3 * (y * size.widthPx + x) + 3);
  return { ...size, data, timeS: i / 2 };
});

/** One near the camera at 300 px was followed all the time. */
const pose = {
  presence: 1,
  points: new Float32Array(33 * pointWidth),
  world: new Float32Array(99),
  next: place(300, 230),
} as Pose;
const course = {
  ...size,
  timesS: frames.map(({ timeS }) => timeS),
  people: [{ id: 1, samples: frames.map(({ timeS }) => ({ timeS, pose })) }],
};

/** The detector sees the nearer one wherever they are in the square, and the farther one only in a small square. */
const engineOf = (farther: number | null) => {
  const asked: (Region | undefined)[] = [];
  const engine = {
    detect: async (_, { region }) => {
      asked.push(region);
      const inSquare = (cx: number) => region === undefined || Math.abs(cx - region.cx) < region.sidePx / 2;
      const far =
        farther !== null && region !== undefined && region.sidePx < 200 && inSquare(farther) ? [detection(farther, 120)] : [];
      return [...(inSquare(300) ? [detection(300, 230)] : []), ...far];
    },
  } as PoseEngine;
  return { engine, asked };
};
const signal = new AbortController().signal;

it('finds who moves beside one who is nearer to the camera, in a square around what moves', async () => {
  const square = await findAside(frames, course, engineOf(150).engine, signal);
  expect(square!.sidePx).toBeLessThan(200);
  expect(Math.abs(square!.cx - 150)).toBeLessThan(12);
});

it.each([
  ['nobody is there but who was followed', null],
  ['nobody is seen where it moves', 450],
])('finds nobody where %s', async (_, farther) => {
  expect(await findAside(frames, course, engineOf(farther).engine, signal)).toBeNull();
});

it('finds nobody in no picture, and ends when it is told to', async () => {
  expect(await findAside([], course, engineOf(150).engine, signal)).toBeNull();
  const stopped = AbortSignal.abort(new Error('too long'));
  await expect(findAside(frames, course, engineOf(150).engine, stopped)).rejects.toThrow('too long');
});

it('lets the detector look only into a square, or into the one that is asked for', async () => {
  const { engine, asked } = engineOf(150);
  const only = seeingOnly(engine, place(150, 100));
  await only.detect(frames[0]!, { threshold: 0.5 });
  await only.detect(frames[0]!, { threshold: 0.5, region: place(200, 50) });
  expect(asked).toEqual([place(150, 100), place(200, 50)]);
});

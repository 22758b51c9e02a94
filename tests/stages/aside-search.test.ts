import { expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { type Detection, type Pose, pointWidth, type Region } from '../../workers/pose/types.ts';
import { findAside, seeingOthers } from '../../workers/stages/aside-search.ts';

const size = { widthPx: 512, heightPx: 288 };
const place = (cx: number, sidePx: number): Region => ({ cx, cy: 150, sidePx, angleRad: 0 });
const detection = (cx: number, sidePx: number): Detection => ({
  score: 0.9,
  box: { x: cx - 10, y: 90, widthPx: 20, heightPx: 20 },
  hip: { x: cx, y: 150 },
  top: { x: cx, y: 90 },
  region: place(cx, sidePx),
});

/** Pictures in which something at 150 px goes up and down before a wall with lines, by a camera that sways by so many px. */
const filmed = (swayPx: number) =>
  Array.from({ length: 20 }, (_, i) => {
    const data = new Uint8Array(size.widthPx * size.heightPx * 3);
    const dx = i % 2 === 0 ? 0 : swayPx;
    for (let y = 0; y < size.heightPx; y++)
      for (let x = 0; x < size.widthPx; x++) {
        const at = x - dx;
        const moving = at >= 130 && at < 170 && y >= 100 && y < 200;
        const level = moving ? ((y / 20 + i) % 4 < 2 ? 200 : 20) : at > 330 && at % 24 < 12 ? 220 : 60;
        data.fill(level, 3 * (y * size.widthPx + x), 3 * (y * size.widthPx + x) + 3);
      }
    return { ...size, data, timeS: i / 2 };
  });
const frames = filmed(0);
const swayed = (swayPx: number) =>
  frames.map(({ timeS }, i) => ({ timeS, dxShare: i % 2 === 0 ? 0 : swayPx / size.widthPx, dyShare: 0 }));

/** Somebody near the camera, from 260 to 340 px, was followed all the time. */
const pose = {
  presence: 1,
  points: Float32Array.from({ length: 33 * pointWidth }, (_, i) =>
    i % pointWidth === 0 ? (i % 2 === 0 ? 264 : 336) : i % pointWidth === 1 ? 60 + ((i / pointWidth) | 0) * 5 : 1,
  ),
  world: new Float32Array(99),
  next: place(300, 230),
} as Pose;
const course = {
  ...size,
  timesS: frames.map(({ timeS }) => timeS),
  people: [{ id: 1, samples: Array.from({ length: 40 }, (_, i) => ({ timeS: i / 4, pose })) }],
};

/**
 * The detector sees the nearer one wherever a part of them is in the square and not painted over, and the farther one only in a square of some size
 * without the other.
 */
const engineOf = (farther: number | null, [leastPx, mostPx] = [0, 200]) => {
  const asked: { region: Region | undefined; level: number; crown: number }[] = [];
  const engine = {
    detect: async ({ data }, { region }) => {
      const level = data[3 * (150 * size.widthPx + 300)]!;
      asked.push({ region, level, crown: data[3 * (40 * size.widthPx + 300)]! });
      const sidePx = region?.sidePx ?? size.widthPx;
      const shows = (from: number, to: number) =>
        region === undefined || (to > region.cx - sidePx / 2 && from < region.cx + sidePx / 2);
      if (shows(260, 340) && level !== 128) return [detection(300, 230)];
      return farther !== null && sidePx >= leastPx && sidePx < mostPx && shows(farther, farther) ? [detection(farther, 120)] : [];
    },
  } as PoseEngine;
  return { engine, asked };
};
/** The same people when the nearer one was there for a part of the clip only. */
const brief = { ...course, people: [{ id: 1, samples: course.people[0]!.samples.slice(0, 12) }] };
const signal = new AbortController().signal;

it('finds who moves beside one who is nearer to the camera, in a square around what moves', async () => {
  const square = await findAside(frames, course, [], engineOf(150).engine, signal);
  expect(square!.sidePx).toBeLessThan(200);
  expect(Math.abs(square!.cx - 150)).toBeLessThan(12);
});

it.each([
  ['nobody is there but who was followed', null],
  ['nobody is seen where it moves', 450],
])('finds nobody where %s', async (_, farther) => {
  expect(await findAside(frames, course, [], engineOf(farther).engine, signal)).toBeNull();
});

it('finds nobody in no picture, and ends when it is told to', async () => {
  expect(await findAside([], course, [], engineOf(150).engine, signal)).toBeNull();
  const stopped = AbortSignal.abort(new Error('too long'));
  await expect(findAside(frames, course, [], engineOf(150).engine, stopped)).rejects.toThrow('too long');
});

it('finds who stands so near to the other that a square around them shows both', async () => {
  const square = await findAside(frames, course, [], engineOf(150, [200, 300]).engine, signal);
  expect(square!.sidePx).toBeGreaterThan(200);
});

it('takes nobody for somebody else who was followed in two parts', async () => {
  const { samples } = course.people[0]!;
  const halves = [samples.slice(0, 19), samples.slice(19)].map((part, id) => ({ id, samples: part }));
  expect(await findAside(frames, { ...course, people: halves }, [], engineOf(null).engine, signal)).toBeNull();
});

it('is not led astray by what a swaying camera seems to move', async () => {
  const square = await findAside(filmed(10), course, swayed(10), engineOf(150).engine, signal);
  expect(Math.abs(square!.cx - 150)).toBeLessThan(12);
  const astray = await findAside(filmed(10), course, [], engineOf(150).engine, signal);
  expect(Math.abs((astray?.cx ?? 400) - 150)).toBeGreaterThan(50);
});

it('lets the detector look only into a square, or into the one that is asked for, and not at who was followed all along', async () => {
  const { engine, asked } = engineOf(150);
  const only = seeingOthers(engine, { region: place(150, 100), path: [] }, course);
  await only.detect(frames[2]!, { threshold: 0.5 });
  await only.detect(frames[2]!, { threshold: 0.5, region: place(200, 50) });
  expect(asked).toEqual([
    { region: place(150, 100), level: 128, crown: 128 },
    { region: place(200, 50), level: 128, crown: 128 },
  ]);
  expect(frames[2]!.data[3 * (150 * size.widthPx + 300)]).toBe(60);
  // the place goes with the camera: of pictures of which every second one is moved by 40 px the middle is at 20 px
  const path = swayed(40);
  await seeingOthers(engine, { region: place(150, 100), path }, course).detect(frames[3]!, { threshold: 0.5 });
  expect(asked.at(-1)!.region!.cx).toBeCloseTo(170);
});

it('paints nobody over who was followed for a moment, or is not there at that time', async () => {
  const { engine, asked } = engineOf(150);
  await seeingOthers(engine, { region: place(150, 100), path: [] }, brief).detect(frames[2]!, { threshold: 0.5 });
  const left = { ...course, people: [{ id: 1, samples: course.people[0]!.samples.slice(0, 28) }] };
  await seeingOthers(engine, { region: place(150, 100), path: [] }, left).detect(frames[19]!, { threshold: 0.5 });
  const { timeS: _, ...untimed } = frames[2]!;
  await seeingOthers(engine, { region: place(150, 100), path: [] }, course).detect(untimed, { threshold: 0.5 });
  expect(asked.map(({ level }) => level)).toEqual([60, 60, 60]);
});

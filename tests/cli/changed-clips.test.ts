import { mkdtempSync } from 'node:fs';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { type ChangeName, changedClip, changes } from '../../src/cli/changed-clips.ts';
import type { Label } from '../../src/cli/labels.ts';
import { readContainer } from '../../workers/media/container.ts';
import { decodeFrames } from '../../workers/media/decode.ts';
import { limits, make, tempFolder } from '../media/make-clips.ts';

const { folder, path, remove } = tempFolder();
afterAll(remove);
const { signal } = new AbortController();
const label: Label = {
  ...{ file: path('clip.mov'), source: 'real', lift: 'squat', azimuthDeg: 135, reps: 2, startS: 1, endS: 2 },
  ...{ elevationDeg: 3, heightM: 1.5, distanceM: 3, defect: 'floor' },
};

// black, its left half white from 1 s on; 3 s of 10 pictures
beforeAll(() =>
  make(
    ...['-f', 'lavfi', '-i', 'color=black:s=64x48:r=10:d=3', '-vf', "drawbox=w=iw/2:h=ih:color=white:t=fill:enable='gte(t,1)'"],
    ...['-pix_fmt', 'yuv420p', label.file],
  ),
);

/** The times of a changed clip, and whether a pixel near the left and the right edge is white at each. */
async function changed(name: ChangeName) {
  const copy = (await changedClip(label, name, mkdtempSync(`${folder}/into-`)))!;
  const frames: { timeS: number; left: boolean; right: boolean }[] = [];
  const push = ({ timeS, data, widthPx, heightPx }: { timeS: number; data: Buffer; widthPx: number; heightPx: number }) => {
    const row = 3 * widthPx * (heightPx >> 1);
    const isWhite = (x: number) => data[row + 3 * x]! > 150;
    frames.push({ timeS, left: isWhite(4), right: isWhite(widthPx - 5) });
  };
  const container = await readContainer(copy.file, limits, signal);
  await decodeFrames(container, { longSidePx: 64, everyS: 0, turnDeg: 0 }, push, signal);
  return { copy, frames, whiteS: frames.find(({ left, right }) => left || right)?.timeS };
}

it('mirrors pictures and azimuth, and keeps what a mirror does not change', async () => {
  const { copy, frames } = await changed('mirrored');
  expect(copy).toMatchObject({ azimuthDeg: -135, reps: 2, startS: 1, endS: 2, elevationDeg: 3, heightM: 1.5, defect: null });
  expect(frames.at(-1)).toMatchObject({ left: false, right: true });
  const behind = await changedClip({ ...label, azimuthDeg: 180 }, 'mirrored', folder);
  expect(behind!.azimuthDeg).toBe(180);
});

it('cuts to the lift, whose times move along', async () => {
  const { copy, frames, whiteS } = await changed('tight');
  expect(frames).toHaveLength(18);
  expect([copy.startS, copy.endS, whiteS].map((t) => t!.toFixed(2))).toEqual(['0.40', '1.40', '0.40']);
  expect(copy.distanceM).toBeNull();
  expect(await changedClip({ ...label, startS: null }, 'tight', folder)).toBeNull();
});

it.each(['quicker', 'slower'] as const)('plays %s, times and all', async (name) => {
  const { copy, whiteS } = await changed(name);
  expect(Math.abs(whiteS! - copy.startS!)).toBeLessThan(0.11);
  expect(copy.startS).toBe(changes[name].slower);
});

it.each(['rolled', 'small', 'coarse', 'dim'] as const)('says nothing of a camera that is not known: %s', async (name) => {
  const { copy, frames } = await changed(name);
  expect(copy).toMatchObject({ azimuthDeg: 135, startS: 1, elevationDeg: null, heightM: null, distanceM: null });
  expect(frames).toHaveLength(30);
});

import { afterAll, describe, expect, test } from 'vitest';
import { readContainer } from '../../workers/media/container.ts';
import { decodeFrames, type Frame } from '../../workers/media/decode.ts';
import { sharpnessLongSidePx, sharpnessOf } from '../../workers/stages/sharpness.ts';
import { limits, make, tempFolder } from '../media/make-clips.ts';
import { createTexture, paint } from './scene.ts';

const temp = tempFolder();
afterAll(temp.remove);
const signal = new AbortController().signal;

/** Sharpness of a clip that ffmpeg makes of a drawn pattern, filtered. */
async function sharpness(name: string, filter: string): Promise<number> {
  const file = temp.path(`${name}.mp4`);
  const encode = ['-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '20', '-pix_fmt', 'yuv420p'];
  await make('-f', 'lavfi', '-i', `testsrc=size=1280x720:rate=15:duration=0.4,${filter}`, ...encode, file);
  const clip = await readContainer(file, limits, signal);
  const large: Frame[] = [];
  const keyFrames = { longSidePx: sharpnessLongSidePx(clip.facts), max: 4, onFrame: (frame: Frame) => void large.push(frame) };
  await decodeFrames(clip, { longSidePx: 64, everyS: 0, turnDeg: 0, keyFrames }, () => {}, signal);
  const fact = sharpnessOf(large);
  if (!fact.known) throw new Error(fact.reason);
  return fact.value;
}

describe('sharpness', () => {
  test('falls with every Gaussian blur, from sharp to clearly out of focus', async () => {
    const values: number[] = [];
    for (const sigma of [0, 1, 2, 3, 4, 6, 8])
      values.push(await sharpness(`blur-${sigma}`, `gblur=sigma=${Math.max(sigma, 0.01)}`));
    for (const [i, value] of values.entries()) if (i > 0) expect(value).toBeLessThan(values[i - 1]!);
    expect(values[0]).toBeGreaterThan(0.7);
    expect(values.at(-1)).toBeLessThan(0.15);
  });

  test('neither a small picture nor low contrast nor noise is a blur, and noise does not hide one', async () => {
    expect(await sharpness('small', 'scale=480:270:flags=area')).toBeGreaterThan(0.5);
    expect(await sharpness('pale', 'eq=contrast=0.4')).toBeGreaterThan(0.6);
    expect(await sharpness('noisy', 'noise=alls=12:allf=t')).toBeGreaterThan(0.6);
    expect(await sharpness('noisy-blur', 'gblur=sigma=8,noise=alls=6:allf=t')).toBeLessThan(0.3);
  });

  test('a picture without edges tells nothing', () => {
    expect(sharpnessOf([])).toEqual({ known: false, reason: 'too-few-frames' });
    expect(sharpnessOf([paint(320, 240, 0, () => 40)])).toEqual({ known: false, reason: 'too-dark' });
  });

  test('a picture of smooth waves alone is not sharp', () => {
    const fact = sharpnessOf([paint(480, 480, 0, createTexture(2))]);
    expect(fact.known && fact.value).toBeLessThan(0.5);
  });
});

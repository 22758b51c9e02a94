import { readFileSync } from 'node:fs';
import mediaInfoFactory from 'mediainfo.js';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readContainer } from '../../workers/media/container.ts';
import { decodeFrames } from '../../workers/media/decode.ts';
import { listPackets } from '../../workers/media/list-packets.ts';
import { limits, make, patch, sample, setMatrix, tempFolder } from './make-clips.ts';

const temp = tempFolder();
const { signal } = new AbortController();
const read = (name: string) => readContainer(temp.path(name), limits, signal);
const source = (size: string) => ['-f', 'lavfi', '-i', `testsrc2=size=${size}:rate=30:duration=2`];

beforeAll(async () => {
  await sample(temp.path('plain.mp4'), '320x180', 30, 2);
  await sample(temp.path('wide-pixels.mp4'), '360x240', 25, 2, '-vf', 'setsar=4/3');
  await sample(
    temp.path('slow.mp4'),
    '160x90',
    30,
    2,
    '-movflags',
    'use_metadata_tags',
    '-metadata',
    'com.android.capture.fps=240',
  );
  await sample(temp.path('fast.mp4'), '160x90', 120, 1);
  await make(
    ...source('320x180'),
    '-f',
    'lavfi',
    '-i',
    'sine=duration=2',
    '-c:v',
    'libx264',
    '-c:a',
    'aac',
    temp.path('sound.mov'),
  );
  await make(...source('320x180'), '-c:v', 'libvpx-vp9', '-deadline', 'realtime', '-cpu-used', '8', temp.path('vp9.webm'));
  await make(
    ...source('320x180'),
    '-c:v',
    'libx265',
    '-preset',
    'ultrafast',
    '-x265-params',
    'log-level=none',
    '-tag:v',
    'hvc1',
    temp.path('hevc.mp4'),
  );
  await make(
    ...source('320x180'),
    '-vf',
    "setpts='PTS+0.02/TB*mod(N\\,3)'",
    '-fps_mode',
    'passthrough',
    '-enc_time_base',
    '1/600',
    '-c:v',
    'libx264',
    temp.path('uneven.mp4'),
  );
});
afterAll(temp.remove);

describe('facts against MediaInfo', () => {
  const clips = ['plain.mp4', 'wide-pixels.mp4', 'sound.mov', 'vp9.webm', 'hevc.mp4', 'fast.mp4', 'uneven.mp4'];
  test.each(clips)('%s', async (name) => {
    const data = readFileSync(temp.path(name));
    const info = await mediaInfoFactory({ format: 'object' });
    const answer = await info.analyzeData(data.length, (size, at) => data.subarray(at, at + size));
    info.close();
    const video = answer.media!.track.find((track) => track['@type'] === 'Video') as unknown as Record<string, number | string>;
    const { facts, timesS } = await read(name);
    expect(facts.widthPx).toBeCloseTo(Number(video.Width) * Number(video.PixelAspectRatio), -0.5);
    expect(facts.heightPx).toBe(Number(video.Height));
    expect(facts.codec).toBe({ AVC: 'h264', HEVC: 'hevc', VP9: 'vp9' }[String(video.Format)]);
    // MediaInfo gives milliseconds, and for webm the file's length
    const videoS = Number(video.Duration ?? (answer.media!.track[0] as { Duration?: number }).Duration);
    expect(Math.abs(facts.durationS - videoS)).toBeLessThan(0.06);
    if (video.FrameCount) expect(timesS).toHaveLength(Number(video.FrameCount));
    if (video.FrameRate && name !== 'uneven.mp4') expect(facts.fps).toBeCloseTo(Number(video.FrameRate), 1);
    expect(facts.bytes).toBe(data.length);
    expect(facts.variableFps).toBe(name === 'uneven.mp4');
    if (video.FrameRate_Mode) expect(facts.variableFps).toBe(video.FrameRate_Mode === 'VFR');
  });
});

describe('slow motion', () => {
  test.each([
    ['slow.mp4', true],
    ['fast.mp4', true],
    ['plain.mp4', false],
  ])('%s: %s', async (name, slow) => {
    expect((await read(name)).facts.slowMotion).toBe(slow);
  });
});

describe('display matrix of ISO/IEC 14496-12', () => {
  test.each([
    [0, [1, 0, 0, 1]],
    [90, [0, 1, -1, 0]],
    [180, [-1, 0, 0, -1]],
    [270, [0, -1, 1, 0]],
  ] as const)('%s degrees clockwise', async (deg, matrix) => {
    const name = `turned-${deg}.mp4`;
    patch(temp.path('plain.mp4'), temp.path(name), (data) => setMatrix(data, matrix));
    const clip = await read(name);
    const [widthPx, heightPx] = deg % 180 === 0 ? [320, 180] : [180, 320];
    expect(clip.facts).toMatchObject({ rotationDeg: deg, widthPx, heightPx });
    const other = await listPackets({ file: temp.path(name), maxPackets: 1e4, maxTimeS: 100, maxPixels: 1e7 }, signal);
    expect(other.video).toMatchObject({ rotationDeg: deg, widthPx, heightPx });

    // the decoded picture agrees: turning the flat frame by the matrix, in code, gives the same picture
    const first = async (file: string) => {
      const found: { data: Buffer; widthPx: number; heightPx: number }[] = [];
      await decodeFrames(
        await read(file),
        { longSidePx: 320, everyS: 10, turnDeg: 0 },
        (frame) => void found.push(frame),
        signal,
      );
      return found[0]!;
    };
    const [flat, shown] = [await first('plain.mp4'), await first(name)];
    expect([shown.widthPx, shown.heightPx]).toEqual([widthPx, heightPx]);
    const [a, b, c, d] = matrix;
    const [x, y] = [a + c < 0 ? widthPx - 1 : 0, b + d < 0 ? heightPx - 1 : 0];
    let off = 0;
    for (let q = 0; q < 180; q += 4) {
      for (let p = 0; p < 320; p += 4) {
        const to = (b * p + d * q + y) * widthPx + (a * p + c * q + x);
        off += Math.abs(flat.data[(q * 320 + p) * 3]! - shown.data[to * 3]!);
      }
    }
    expect(off / (45 * 80)).toBeLessThan(4);
  });
});

test('ffmpeg, the second reader, agrees with the first', async () => {
  for (const name of ['plain.mp4', 'wide-pixels.mp4', 'vp9.webm', 'slow.mp4', 'sound.mov']) {
    const first = await read(name);
    const second = await listPackets({ file: temp.path(name), maxPackets: 1e4, maxTimeS: 100, maxPixels: 1e7 }, signal);
    expect(second.video).toMatchObject({
      codec: first.facts.codec,
      widthPx: first.facts.widthPx,
      heightPx: first.facts.heightPx,
    });
    expect(second.packets).toHaveLength(first.timesS.length);
    expect(second.audioCodec).toBe(first.audioCodec);
    expect(second.tags['com.android.capture.fps'] !== undefined).toBe(name === 'slow.mp4');
  }
});

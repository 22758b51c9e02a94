import { chmodSync, copyFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { ClipErrorCode } from '../../src/queue/payload.ts';
import { ClipError } from '../../workers/media/clip-error.ts';
import { readContainer } from '../../workers/media/container.ts';
import { type Decoded, decodeFrames, refuseDamaged } from '../../workers/media/decode.ts';
import { inputArgs, startFfmpeg } from '../../workers/media/run-ffmpeg.ts';
import { openCallTrap } from './call-trap.ts';
import { findBox, limits, make, patch, sample, tempFolder } from './make-clips.ts';

const temp = tempFolder();
const { signal } = new AbortController();
let trap: Awaited<ReturnType<typeof openCallTrap>>;

beforeAll(async () => {
  await sample(temp.path('plain.mp4'), '320x180', 30, 4, '-movflags', 'faststart');
  trap = await openCallTrap();
});
afterAll(() => {
  trap.close();
  temp.remove();
});

/** The whole way a clip goes: tables, every frame, wholeness. */
async function readAll(file: string, more: Partial<typeof limits> = {}): Promise<Decoded> {
  const clip = await readContainer(file, { ...limits, ...more }, signal);
  const decoded = await decodeFrames(clip, { longSidePx: 64, everyS: 0.2, turnDeg: 0 }, () => {}, signal);
  refuseDamaged(decoded, clip);
  return decoded;
}

async function codeOf(file: string, more: Partial<typeof limits> = {}): Promise<ClipErrorCode | 'read'> {
  try {
    await readAll(file, more);
    return 'read';
  } catch (error) {
    if (error instanceof ClipError) return error.code;
    throw error;
  }
}

const text = (name: string, content: string | Buffer) => {
  writeFileSync(temp.path(name), content);
  return temp.path(name);
};

test('a sound clip is read', async () => {
  expect(await readAll(temp.path('plain.mp4'))).toMatchObject({ frames: 20, decodeErrors: 0, truncated: false });
});

describe('files that are no clip', () => {
  test('missing', async () => expect(await codeOf(temp.path('nothing.mp4'))).toBe('clip-missing'));
  test('empty', async () => expect(await codeOf(text('empty.mp4', ''))).toBe('clip-empty'));
  test('a folder', async () => {
    mkdirSync(temp.path('folder.mp4'));
    expect(await codeOf(temp.path('folder.mp4'))).toBe('clip-not-video');
  });
  test('text', async () => expect(await codeOf(text('text.mp4', 'squat 3x5 at 140'))).toBe('clip-not-video'));
  test('too many bytes', async () => expect(await codeOf(temp.path('plain.mp4'), { maxBytes: 1000 })).toBe('clip-too-big'));
  test('no permission', async () => {
    copyFileSync(temp.path('plain.mp4'), temp.path('closed.mp4'));
    chmodSync(temp.folder, 0o755);
    chmodSync(temp.path('closed.mp4'), 0);
    // root may read anything: be nobody for a moment
    const root = process.getuid?.() === 0;
    if (root) process.seteuid!(65534);
    try {
      expect(await codeOf(temp.path('closed.mp4'))).toBe('clip-no-permission');
    } finally {
      if (root) process.seteuid!(0);
    }
  });
  test.each([
    ['picture.jpg', ['-f', 'lavfi', '-i', 'testsrc2=size=64x64', '-frames:v', '1']],
    ['picture.png', ['-f', 'lavfi', '-i', 'testsrc2=size=64x64', '-frames:v', '1']],
    ['moving.gif', ['-f', 'lavfi', '-i', 'testsrc2=size=64x64:duration=1']],
    ['one-frame.mp4', ['-f', 'lavfi', '-i', 'testsrc2=size=64x64', '-frames:v', '1', '-c:v', 'libx264']],
    ['sound.m4a', ['-f', 'lavfi', '-i', 'sine=duration=1', '-c:a', 'aac']],
    ['sound-only.mp4', ['-f', 'lavfi', '-i', 'sine=duration=1', '-c:a', 'aac']],
    ['sound.wav', ['-f', 'lavfi', '-i', 'sine=duration=1']],
  ])('image or audio only: %s', async (name, args) => {
    await make(...args, temp.path(name));
    expect(await codeOf(temp.path(name))).toBe('clip-image-or-audio-only');
  });
  test.each([
    ['old.mp4', ['-c:v', 'mpeg4']],
    ['motion-jpeg.mov', ['-c:v', 'mjpeg']],
    ['old.avi', ['-c:v', 'mpeg4']],
  ])('unknown codec: %s', async (name, args) => {
    await make('-f', 'lavfi', '-i', 'testsrc2=size=64x64:duration=1', ...args, temp.path(name));
    expect(await codeOf(temp.path(name))).toBe('clip-codec-unknown');
  });
});

describe('damage', () => {
  test('cut off before the tables', async () => {
    await sample(temp.path('tables-last.mp4'), '320x180', 30, 2);
    patch(temp.path('tables-last.mp4'), temp.path('headless.mp4'), (data) => data.subarray(0, data.length * 0.6));
    expect(await codeOf(temp.path('headless.mp4'))).toBe('clip-damaged');
  });
  test('cut off after the tables', async () => {
    patch(temp.path('plain.mp4'), temp.path('half.mp4'), (data) => data.subarray(0, data.length * 0.6));
    expect(await codeOf(temp.path('half.mp4'))).toBe('clip-damaged');
  });
  test('frames overwritten', async () => {
    patch(temp.path('plain.mp4'), temp.path('noise.mp4'), (data) => {
      const [from, to] = findBox(data, 'mdat');
      for (let at = from + 2000, seed = 7; at < to; at++) {
        seed = (seed * 1103515245 + 12345) % 2147483648;
        data[at] = seed >> 16;
      }
    });
    expect(await codeOf(temp.path('noise.mp4'))).toBe('clip-damaged');
  });
  test('one frame damaged is no reason to refuse', async () => {
    patch(temp.path('plain.mp4'), temp.path('scratch.mp4'), (data) => {
      const [from, to] = findBox(data, 'mdat');
      data.fill(0xff, from + Math.floor((to - from) / 2), from + Math.floor((to - from) / 2) + 40);
    });
    expect(await readAll(temp.path('scratch.mp4'))).toMatchObject({ truncated: false });
  });
  test('text overwritten over the tables', async () => {
    patch(temp.path('plain.mp4'), temp.path('tables.mp4'), (data) => void data.fill('x', ...findBox(data, 'moov')));
    expect(await codeOf(temp.path('tables.mp4'))).toBe('clip-damaged');
  });
});

const table = 'moov/trak/mdia/minf/stbl';
describe('tables that lie', () => {
  test('times: one entry claims four billion frames', async () => {
    patch(
      temp.path('plain.mp4'),
      temp.path('stts-count.mp4'),
      (data) => void data.writeUInt32BE(0xffffffff, findBox(data, `${table}/stts`)[0] + 8),
    );
    expect(['read', 'clip-damaged', 'clip-too-long']).toContain(await codeOf(temp.path('stts-count.mp4')));
  });
  test('times: a frame lasts for days', async () => {
    patch(
      temp.path('plain.mp4'),
      temp.path('stts-delta.mp4'),
      (data) => void data.writeUInt32BE(0x7fffffff, findBox(data, `${table}/stts`)[0] + 12),
    );
    expect(['clip-time-gaps', 'clip-too-long', 'clip-damaged']).toContain(await codeOf(temp.path('stts-delta.mp4')));
  });
  test('sizes: four billion frames', async () => {
    patch(
      temp.path('plain.mp4'),
      temp.path('stsz-count.mp4'),
      (data) => void data.writeUInt32BE(0xfffffff0, findBox(data, `${table}/stsz`)[0] + 8),
    );
    expect(['read', 'clip-damaged']).toContain(await codeOf(temp.path('stsz-count.mp4')));
  });
  test('sizes: every frame is a gigabyte', async () => {
    patch(
      temp.path('plain.mp4'),
      temp.path('stsz-size.mp4'),
      (data) => void data.writeUInt32BE(0x40000000, findBox(data, `${table}/stsz`)[0] + 4),
    );
    expect(await codeOf(temp.path('stsz-size.mp4'))).toBe('clip-damaged');
  });
  test('chunks: all frames in one, four billion of them', async () => {
    patch(
      temp.path('plain.mp4'),
      temp.path('stsc.mp4'),
      (data) => void data.writeUInt32BE(0xffffffff, findBox(data, `${table}/stsc`)[0] + 12),
    );
    expect(['read', 'clip-damaged']).toContain(await codeOf(temp.path('stsc.mp4')));
  });
  test('length: the header claims ten hours, the packets are believed', async () => {
    patch(temp.path('plain.mp4'), temp.path('long-header.mp4'), (data) => {
      const scale = data.readUInt32BE(findBox(data, 'moov/mvhd')[0] + 12);
      data.writeUInt32BE(36_000 * scale, findBox(data, 'moov/mvhd')[0] + 16);
    });
    expect((await readContainer(temp.path('long-header.mp4'), limits, signal)).facts.durationS).toBeCloseTo(4, 2);
  });
});

describe('size and time', () => {
  test('huge dimensions', async () => {
    await sample(temp.path('huge.mp4'), '4096x3072', 1, 2);
    expect(await codeOf(temp.path('huge.mp4'))).toBe('clip-too-many-pixels');
  });
  test('huge dimensions behind a small header', async () => {
    await sample(temp.path('huge-2.mp4'), '4096x3072', 1, 2);
    patch(temp.path('huge-2.mp4'), temp.path('small-header.mp4'), (data) => {
      const entry = findBox(data, `${table}/stsd`)[0] + 8;
      data.writeUInt16BE(320, entry + 8 + 24);
      data.writeUInt16BE(240, entry + 8 + 26);
    });
    expect(await codeOf(temp.path('small-header.mp4'))).toBe('clip-too-many-pixels');
  });
  test('hours long', async () => {
    await sample(temp.path('hours.mp4'), '64x64', 1, 3 * 3600);
    expect(await codeOf(temp.path('hours.mp4'))).toBe('clip-too-long');
  });
  test('a frame an hour', async () => {
    await make('-f', 'lavfi', '-i', 'testsrc2=size=64x64:rate=1/3600:duration=36000', '-c:v', 'libx264', temp.path('hourly.mp4'));
    expect(await codeOf(temp.path('hourly.mp4'))).toBe('clip-time-gaps');
  });
  test('hours between two frames', async () => {
    const pause = "setpts='PTS+gte(N\\,30)*7200/TB'";
    await sample(temp.path('pause.mp4'), '64x64', 30, 2, '-vf', pause, '-fps_mode', 'passthrough');
    expect(await codeOf(temp.path('pause.mp4'))).toBe('clip-time-gaps');
  });
  test('decoding takes too long', async () => {
    expect(await codeOf(temp.path('plain.mp4'), { timeoutS: 0.001 })).toBe('clip-took-too-long');
  });
});

describe('playlists and manifests', () => {
  const decoy = () => temp.path('plain.mp4');
  const bodies: Record<string, () => string> = {
    'hls.mp4': () => `#EXTM3U\n#EXT-X-VERSION:3\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\n${trap.address}/a.ts\n#EXT-X-ENDLIST\n`,
    'hls-local.mp4': () => `#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\nfile://${decoy()}\n#EXT-X-ENDLIST\n`,
    'concat.mp4': () => `ffconcat version 1.0\nfile '${decoy()}'\n`,
    'dash.mp4': () =>
      `<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" mediaPresentationDuration="PT4S"><Period><AdaptationSet mimeType="video/mp4"><Representation id="1" bandwidth="1"><BaseURL>${trap.address}/v.mp4</BaseURL></Representation></AdaptationSet></Period></MPD>`,
    'sdp.mp4': () => `v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 9999 RTP/AVP 96\n`,
  };
  test.each(Object.keys(bodies))('%s is refused', async (name) => {
    expect(await codeOf(text(name, bodies[name]!()))).toBe('clip-playlist');
  });
  // the first look must not be the only wall: ffmpeg itself, with our arguments, reads neither the address nor the decoy
  test.each(Object.keys(bodies))('%s: ffmpeg alone refuses it too', async (name) => {
    const file = text(name, bodies[name]!());
    const args = [...inputArgs(file, limits.maxPixels), '-map', '0:v', '-c', 'copy', '-f', 'framecrc', 'pipe:1'];
    const run = await startFfmpeg(args, { timeoutS: 10, maxMemoryMb: 600, maxOutBytes: 1e6 }, signal);
    let out = '';
    for await (const chunk of run.stdout) out += chunk;
    expect((await run.ended).ok).toBe(false);
    expect(out).toBe('');
  });
  test('no request arrived', () => expect(trap.requests).toEqual([]));
  test('the trap works', async () => {
    await (await fetch(`${trap.address}/proof`)).text();
    expect(trap.requests).toEqual(['/proof']);
  });
});

describe('names', () => {
  test.each([
    'concat:a|b.mp4',
    '-i.mp4',
    `it's "quoted".mp4`,
    'two\nlines.mp4',
    '💪 5x5 %03d.mp4',
    '$(id) ;ls.mp4',
    'http:x.mp4',
  ])('%j', async (name) => {
    copyFileSync(temp.path('plain.mp4'), temp.path(name));
    expect((await readAll(temp.path(name))).frames).toBe(20);
  });
});

test('an abort ends it with the reason', async () => {
  const clip = await readContainer(temp.path('plain.mp4'), limits, signal);
  const abort = new AbortController();
  const reason = new Error('stop');
  const decoding = decodeFrames(clip, { longSidePx: 64, everyS: 0, turnDeg: 0 }, () => abort.abort(reason), abort.signal);
  await expect(decoding).rejects.toBe(reason);
  await expect(readContainer(temp.path('plain.mp4'), limits, abort.signal)).rejects.toBe(reason);
});

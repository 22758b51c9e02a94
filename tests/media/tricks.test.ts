import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { deflateSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ClipError } from '../../workers/media/clip-error.ts';
import { readContainer } from '../../workers/media/container.ts';
import { decodeFrames, refuseDamaged } from '../../workers/media/decode.ts';
import { inputArgs, startFfmpeg } from '../../workers/media/run-ffmpeg.ts';
import { box, boxesOf } from '../fuzz/iso-boxes.ts';
import { openCallTrap } from './call-trap.ts';
import { findBox, limits, make, patch, sample, tempFolder } from './make-clips.ts';

const temp = tempFolder();
const { signal } = new AbortController();
let trap: Awaited<ReturnType<typeof openCallTrap>>;
let clips = 0;

beforeAll(async () => {
  await sample(temp.path('plain.mp4'), '160x90', 10, 2, '-movflags', 'faststart');
  await sample(temp.path('plain.mkv'), '160x90', 10, 2);
  trap = await openCallTrap();
});
afterAll(() => {
  trap.close();
  temp.remove();
});

/** The code that a clip is refused with, or how many frames were read. */
async function outcome(file: string): Promise<string> {
  try {
    const clip = await readContainer(file, limits, signal);
    const decoded = await decodeFrames(clip, { longSidePx: 64, everyS: 0.1, turnDeg: 0 }, () => {}, signal);
    refuseDamaged(decoded, clip);
    return `${decoded.frames} frames`;
  } catch (error) {
    if (error instanceof ClipError) return error.code;
    throw error;
  }
}

function written(content: string | Buffer, ending = 'mp4'): string {
  clips += 1;
  const file = temp.path(`trick-${clips}.${ending}`);
  writeFileSync(file, content);
  return file;
}

/** A copy of the sound clip with `change` made; sizes of the boxes around a replaced one are mended, and places of frames moved. */
function replaced(type: string, by: Buffer, more: (data: Buffer) => void = () => {}): string {
  clips += 1;
  const file = temp.path(`trick-${clips}.mp4`);
  patch(temp.path('plain.mp4'), file, (data) => {
    const one = boxesOf(data).find((each) => each.type === type)!;
    const grown = by.length - (one.end - one.at);
    const changed = Buffer.concat([data.subarray(0, one.at), by, data.subarray(one.end)]);
    for (const outer of one.around) changed.writeUInt32BE(outer.end - outer.at + grown, outer.at);
    more(changed);
    return changed;
  });
  return file;
}

/** Runs ffmpeg on an untrusted file; gives the number of frames it decoded. */
async function framesBy(args: string[]): Promise<number> {
  const run = await startFfmpeg(
    [...args, '-map', '0:v:0', '-f', 'framecrc', 'pipe:1'],
    { timeoutS: 20, maxMemoryMb: 600, maxOutBytes: 1e6 },
    signal,
    temp.folder,
  );
  let out = '';
  run.times.resume();
  for await (const chunk of run.stdout) out += chunk;
  await run.ended;
  return out.split('\n').filter((line) => /^0,/.test(line)).length;
}

describe('references to other files', () => {
  const count = Buffer.from([0, 0, 0, 0, 0, 0, 0, 1]);
  const empty = (data: Buffer) => void data.fill(0, ...findBox(data, 'mdat'));
  /** An alias as the Mac wrote it (QuickTime file format, `alis`; layout from memory of FFmpeg's mov.c), to a file beside the clip. */
  const alias = (name: string) => {
    const body = Buffer.alloc(150);
    body.writeUInt16BE(150, 4);
    body.writeUInt8(27, 10);
    body.write('disk', 11);
    body.writeUInt8(name.length, 50);
    body.write(name, 51);
    body.writeInt16BE(1, 130);
    body.writeInt16BE(0, 132);
    const path = Buffer.concat([Buffer.from([0, 2, 0, name.length]), Buffer.from(name), Buffer.alloc(name.length % 2)]);
    return box('dref', count, box('alis', Buffer.alloc(4), body, path, Buffer.from([0xff, 0xff, 0, 0])));
  };
  test('the frames lie in another file: it is not opened', async () => {
    const hollow = replaced('dref', alias('plain.mp4'), empty);
    expect(await outcome(hollow)).toBe('clip-damaged');
    // the trick is a real one: told to follow references, ffmpeg reads the other file's frames
    const followed = inputArgs(hollow, limits.maxPixels, ['-enable_drefs', '1', '-use_absolute_path', '1']);
    expect(await framesBy(followed)).toBe(20);
    expect(await framesBy(inputArgs(hollow, limits.maxPixels))).toBe(0);
  });

  test.each(['http', 'file'])('a data reference by address: %s', async (kind) => {
    const target = kind === 'http' ? `${trap.address}/frames` : `file://${temp.path('plain.mp4')}`;
    const url = box('dref', count, box('url ', Buffer.alloc(4), Buffer.from(`${target}\0`)));
    expect(await outcome(replaced('dref', url, empty))).toBe('clip-damaged');
  });

  test('a reference movie', async () => {
    const target = Buffer.from(`${trap.address}/movie.mp4\0`);
    const size = Buffer.alloc(4);
    size.writeUInt32BE(target.length);
    const movie = box('rmra', box('rmda', box('rdrf', Buffer.alloc(4), Buffer.from('url '), size, target)));
    expect(await outcome(written(Buffer.concat([box('ftyp', Buffer.from('qt  \0\0\0\0qt  ')), box('moov', movie)])))).toBe(
      'clip-damaged',
    );
  });

  test('a playlist inside a box, and one after the boxes', async () => {
    const list = Buffer.from(`\n#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\n${trap.address}/a.ts\n#EXT-X-ENDLIST\n`);
    expect(await outcome(written(Buffer.concat([box('free', list), box('mdat', list)])))).toBe('clip-damaged');
  });
});

describe('playlists and manifests that look otherwise', () => {
  const lists: Record<string, [string, string]> = {
    'with a byte order mark': ['\ufeff#EXTM3U\n', 'clip-playlist'],
    'after empty lines': ['\r\n\r\n  #EXTM3U\n', 'clip-playlist'],
    'without a version': ["file 'plain.mp4'\n", 'clip-playlist'],
    'of a media player': ['[playlist]\nFile1=', 'clip-playlist'],
    'of XML': ['<?xml version="1.0"?>\n<playlist xmlns="http://xspf.org/ns/0/"><trackList><track><location>', 'clip-playlist'],
    'only an address': ['', 'clip-not-video'],
    'of addresses in a comment': ['# a list\n', 'clip-not-video'],
  };
  test.each(Object.keys(lists))('%s', async (name) => {
    const [begin, code] = lists[name]!;
    expect(await outcome(written(`${begin}${trap.address}/a.mp4\n`))).toBe(code);
  });
});

describe('bombs', () => {
  test('a header that unpacks to a hundred megabytes', async () => {
    const size = Buffer.alloc(4);
    size.writeUInt32BE(100_000_000);
    const packed = box('cmov', box('dcom', Buffer.from('zlib')), box('cmvd', size, deflateSync(Buffer.alloc(100_000_000))));
    expect(await outcome(written(Buffer.concat([box('ftyp', Buffer.from('qt  \0\0\0\0qt  ')), box('moov', packed)])))).toBe(
      'clip-damaged',
    );
  });

  test('boxes in boxes, ten thousand deep', async () => {
    let nested = Buffer.alloc(0) as Buffer;
    for (let depth = 0; depth < 10_000; depth++) nested = box(depth % 2 === 0 ? 'moov' : 'udta', nested);
    expect(await outcome(written(Buffer.concat([box('ftyp', Buffer.from('isom\0\0\0\0isom')), nested])))).toBe('clip-damaged');
  });

  test('sixty streams: more than any camera writes', async () => {
    const maps = Array.from({ length: 60 }, () => ['-map', '0:v:0']).flat();
    await make('-i', temp.path('plain.mp4'), ...maps, '-c', 'copy', temp.path('streams.mkv'));
    expect(await outcome(temp.path('streams.mkv'))).toBe('clip-damaged');
  });

  test('a track box again, two thousand times', async () => {
    const data = readFileSync(temp.path('plain.mp4'));
    const track = boxesOf(data).find(({ type }) => type === 'trak')!;
    const many = Buffer.concat(Array.from({ length: 2000 }, () => data.subarray(track.at, track.end)));
    expect(await outcome(replaced('trak', many))).toMatch(/^(clip-damaged|clip-took-too-much-memory)$/);
  });

  test('a picture of 16384 px in a clip of a few bytes', async () => {
    await make(
      '-f',
      'lavfi',
      '-i',
      'color=size=16384x4096:rate=2:duration=1',
      '-c:v',
      'libx264',
      '-preset',
      'ultrafast',
      '-threads',
      '1',
      temp.path('wide.mp4'),
    );
    expect(await outcome(temp.path('wide.mp4'))).toBe('clip-too-many-pixels');
  });

  test('a clock so coarse that a second is a day', async () => {
    const slow = temp.path('slow-clock.mp4');
    patch(temp.path('plain.mp4'), slow, (data) => {
      const at = findBox(data, 'moov/trak/mdia/mdhd')[0] + 12;
      data.writeUInt32BE(1, at);
    });
    expect(await outcome(slow)).toMatch(/^clip-(too-long|time-gaps)$/);
  });

  test('a clock of nought', async () => {
    const none = temp.path('no-clock.mp4');
    patch(temp.path('plain.mp4'), none, (data) => void data.writeUInt32BE(0, findBox(data, 'moov/trak/mdia/mdhd')[0] + 12));
    expect(await outcome(none)).toMatch(/^clip-|^20 frames$/);
  });
});

describe('names', () => {
  test.each([
    '-y',
    '--',
    '-f lavfi -i testsrc.mp4',
    'pipe:0',
    'file:plain.mp4',
    'concat:plain.mp4|plain.mp4',
    '%d.mp4',
    '%05d.mp4',
    '*.mp4',
    "'; rm -rf 'x",
    'a\tb\u202egp4.exe',
    `${'é'.repeat(120)}.mp4`,
    'crypto:x',
    'subfile,,start,0,end,0,,:plain.mp4',
    '#fragment?query.mp4',
  ])('%j is a name like any other', async (name) => {
    const folder = temp.path('names');
    mkdirSync(folder, { recursive: true });
    copyFileSync(temp.path('plain.mkv'), `${folder}/${name}`);
    expect(basename(`${folder}/${name}`)).toBe(name);
    expect(await outcome(`${folder}/${name}`)).toBe('20 frames');
  });
});

test('a pattern of pictures is refused, even if it is a clip', async () => {
  copyFileSync(temp.path('plain.mkv'), temp.path('%05d.jpg'));
  expect(await outcome(temp.path('%05d.jpg'))).toBe('clip-not-video');
});

test('nobody was called', () => expect(trap.requests).toEqual([]));

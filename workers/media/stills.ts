import { access, copyFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { ClipLimits } from '../../src/queue/payload.ts';
import { ClipError } from './clip-error.ts';
import { type Container, readContainer } from './container.ts';
import { errorFrom, inputArgs, startFfmpeg } from './run-ffmpeg.ts';
import { type TurnDeg, turnFilters } from './turn.ts';

/** `out` is a folder that exists; timesS: seconds of clip time, any order. */
export interface StillsOrder {
  file: string;
  out: string;
  timesS: number[];
  turnDeg: TurnDeg;
  limits: ClipLimits;
}

const longSidePx = 480; // chosen: more than a still's place on the contact sheet of 720 px
/** Decoding this many frames costs as much as starting ffmpeg once more (1080p: 10 ms a frame against 0.1 s). */
const startInFrames = 10;

/**
 * Writes one upright JPEG for each time (000.jpg, 001.jpg, ... in the order of `timesS`), at most 480 px on the long side. Times near
 * each other share one run; a run seeks to the key frame before its first time, so long waits between times are not decoded.
 * @returns paths in the order of `timesS`
 * @throws ClipError; the signal's reason on abort
 */
export async function writeStills(order: StillsOrder, signal: AbortSignal): Promise<string[]> {
  const clip = await readContainer(order.file, order.limits, signal);
  const wanted = order.timesS.map((timeS) => frameAt(clip.timesS, timeS));
  const frames = [...new Set(wanted)].sort((a, b) => a - b);
  const numbers = new Map(frames.map((frame) => [frame, wanted.indexOf(frame)]));
  const nameOf = (number: number) => join(order.out, `${String(number).padStart(3, '0')}.jpg`);
  for (const group of groups(frames, clip)) {
    // ffmpeg numbers in rising order, so frames asked for out of order are runs of their own
    for (const rising of risingRuns(group, numbers)) await writeRun(clip, order, rising, numbers.get(rising[0]!)!, signal);
  }
  for (const [number, frame] of wanted.entries()) {
    const first = numbers.get(frame)!;
    await access(nameOf(first)).catch((cause: unknown) => {
      throw new ClipError('clip-damaged', `no picture at ${clip.timesS[frame]} s`, { cause });
    });
    if (first !== number) await copyFile(nameOf(first), nameOf(number));
  }
  return wanted.map((_, number) => nameOf(number));
}

/** Index of the frame that is shown at a time. */
function frameAt(timesS: number[], timeS: number): number {
  return Math.max(
    0,
    timesS.findLastIndex((time) => time <= timeS + 1e-6),
  );
}

/** Splits sorted frames where starting again at a key frame is cheaper than decoding on. */
function groups(frames: number[], clip: Container): number[][] {
  const keys = clip.keyTimesS.map((key) => frameAt(clip.timesS, key));
  const runs: number[][] = [];
  for (const frame of frames) {
    const key = keys.findLast((at) => at <= frame) ?? 0;
    const run = runs.at(-1);
    if (run && key - run.at(-1)! <= startInFrames) run.push(frame);
    else runs.push([frame]);
  }
  return runs;
}

/** Splits a run where the numbers of its files do not rise by one. */
function risingRuns(frames: number[], numbers: Map<number, number>): number[][] {
  const runs: number[][] = [];
  for (const frame of frames) {
    const run = runs.at(-1);
    if (run && numbers.get(frame) === numbers.get(run.at(-1)!)! + 1) run.push(frame);
    else runs.push([frame]);
  }
  return runs;
}

async function writeRun(
  clip: Container,
  order: StillsOrder,
  frames: number[],
  startNumber: number,
  signal: AbortSignal,
): Promise<void> {
  const half = 0.25 / clip.facts.fps;
  const seekS = Math.max(0, clip.timesS[frames[0]!]! - half);
  // the n-th picture is the first frame at or after the n-th time
  const nth = frames.map((frame, n) => `eq(selected_n\\,${n})*gte(t\\,${(clip.timesS[frame]! - half - seekS).toFixed(6)})`);
  const { widthPx, heightPx } = clip.facts;
  const scale = Math.min(1, longSidePx / Math.max(widthPx, heightPx));
  const even = (px: number) => Math.max(2, 2 * Math.round((px * scale) / 2));
  const filters = [
    `select='${nth.join('+')}'`,
    `scale=${even(widthPx)}:${even(heightPx)}:flags=area:out_range=pc`,
    'setsar=1',
    ...turnFilters(order.turnDeg),
    'format=yuvj420p',
  ];
  const args = [
    ...inputArgs(clip.file, clip.limits.maxPixels, ['-ss', seekS.toFixed(6)]),
    ...[
      '-map',
      '0:V:0',
      '-an',
      '-sn',
      '-dn',
      '-vf',
      filters.join(','),
      '-fps_mode',
      'passthrough',
      '-frames:v',
      String(frames.length),
    ],
    ...[
      '-c:v',
      'mjpeg',
      '-q:v',
      '4',
      '-map_metadata',
      '-1',
      '-start_number',
      String(startNumber),
      '-f',
      'image2',
      '-y',
      '%03d.jpg',
    ],
  ];
  const run = await startFfmpeg(args, { ...clip.limits, maxOutBytes: 8 * 1024 * 1024 }, signal, order.out);
  run.stdout.resume();
  run.times.resume();
  const { ok, said } = await run.ended;
  if (!ok) throw errorFrom(said);
}

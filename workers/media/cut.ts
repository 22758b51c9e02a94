import { rename, rm, stat } from 'node:fs/promises';
import type { ClipLimits } from '../../src/queue/payload.ts';
import { ClipError } from './clip-error.ts';
import { type Container, readContainer } from './container.ts';
import { errorFrom, inputArgs, startFfmpeg } from './run-ffmpeg.ts';
import { type TurnDeg, turnFilters } from './turn.ts';

/** startS, endS: seconds of clip time. `out` is an absolute path; its folder exists. */
export interface CutOrder {
  file: string;
  out: string;
  startS: number;
  endS: number;
  turnDeg: TurnDeg;
  maxBytes: number;
  limits: ClipLimits;
}

const audioKbps = 96; // chosen: a voice and the gym stay clear, 0.7 MB a minute
const shortSidePx = 720; // chosen: enough to look at a lift, small enough to post

/**
 * Writes [startS, endS] as an upright mp4 (H.264, AAC where the clip's sound is AAC) with square pixels, at most 720 px on the short
 * side and never scaled up, without the clip's metadata (place, device). Re-encoded, so the start is exact to the frame. Too large a
 * result is written again with a bit rate that fits, twice at most.
 * @returns bytes written
 * @throws ClipError: clip-too-big when it cannot fit; those of readContainer; the signal's reason on abort. Leaves nothing behind.
 */
export async function cutClip(order: CutOrder, signal: AbortSignal): Promise<number> {
  const clip = await readContainer(order.file, order.limits, signal);
  const part = `${order.out}.part`;
  try {
    let withSound = clip.audioCodec === 'aac';
    let rate: string[] = ['-crf', '23'];
    let scale = 1;
    for (let tries = 0; tries < 3; tries++) {
      let said = await encode(clip, order, part, rate, scale, withSound, signal);
      if (said !== null && withSound) {
        withSound = false;
        said = await encode(clip, order, part, rate, scale, withSound, signal);
      }
      if (said !== null) throw errorFrom(said);
      const { size } = await stat(part);
      if (size <= order.maxBytes) {
        await rename(part, order.out);
        return size;
      }
      const fits = (order.maxBytes * 8 * (tries === 0 ? 0.9 : 0.7)) / (order.endS - order.startS) / 1000;
      const kbps = Math.floor(fits - (withSound ? audioKbps : 0));
      if (kbps < 60) break;
      if (kbps < 600) scale = 0.5;
      rate = ['-b:v', `${kbps}k`, '-maxrate', `${kbps}k`, '-bufsize', `${kbps}k`];
    }
    throw new ClipError('clip-too-big', `the cut does not fit into ${order.maxBytes} bytes`);
  } finally {
    await rm(part, { force: true });
  }
}

/** Null when it worked, else what ffmpeg said. */
async function encode(
  clip: Container,
  order: CutOrder,
  part: string,
  rate: string[],
  shrink: number,
  withSound: boolean,
  signal: AbortSignal,
): Promise<string | null> {
  const { widthPx, heightPx } = clip.facts;
  const scale = shrink * Math.min(1, shortSidePx / Math.min(widthPx, heightPx));
  const even = (px: number) => Math.max(2, 2 * Math.floor((px * scale) / 2 + 1e-6));
  const filters = [
    `scale=${even(widthPx)}:${even(heightPx)}:flags=bicubic`,
    'setsar=1',
    ...turnFilters(order.turnDeg),
    'format=yuv420p',
  ];
  const lengthS = Math.min(order.endS, clip.facts.durationS) - order.startS;
  if (!(lengthS > 0)) throw new RangeError('the cut is empty');
  const args = [
    ...inputArgs(clip.file, clip.limits.maxPixels, ['-ss', order.startS.toFixed(6), '-t', lengthS.toFixed(6)]),
    ...[
      '-map',
      '0:V:0',
      ...(withSound ? ['-map', '0:a:0', '-c:a', 'aac', '-b:a', `${audioKbps}k`, '-ac', '2'] : ['-an']),
      '-sn',
      '-dn',
    ],
    ...['-vf', filters.join(','), '-fps_mode', 'vfr', '-c:v', 'libx264', '-preset', 'veryfast', ...rate, '-threads', '2'],
    ...['-map_metadata', '-1', '-map_chapters', '-1', '-movflags', '+faststart', '-f', 'mp4', '-y', `file:${part}`],
  ];
  const limits = { ...clip.limits, maxOutBytes: Math.max(4 * order.maxBytes, 64 * 1024 * 1024) };
  const run = await startFfmpeg(args, limits, signal);
  run.stdout.resume();
  run.times.resume();
  const { ok, said } = await run.ended;
  return ok ? null : said;
}

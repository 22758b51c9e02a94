import type { Readable } from 'node:stream';
import { ClipError } from './clip-error.ts';
import type { Container } from './container.ts';
import { errorFrom, inputArgs, startFfmpeg } from './run-ffmpeg.ts';
import { type TurnDeg, turnFilters } from './turn.ts';

/** One decoded frame, upright by the metadata and then turned by `turnDeg`, with square pixels. */
export interface Frame {
  /** Presentation time in seconds from the start of the clip. */
  timeS: number;
  /** Counts the frames given, from 0. */
  index: number;
  /** rgb24, rows from the top, widthPx * heightPx * 3 bytes; the receiver may keep it. */
  data: Buffer;
  widthPx: number;
  heightPx: number;
}

/** longSidePx: the picture is scaled to this long side (up too), sizes even. everyS: at most one frame in this time, 0 for all. */
export interface DecodeOptions {
  longSidePx: number;
  everyS: number;
  turnDeg: TurnDeg;
  /** Key frames from the same decoding, spread over the clip, at most `max`; a clip with one key frame gives one. */
  keyFrames?: { longSidePx: number; max: number; onFrame(frame: Frame): void };
}

/** How a decoding ended. `lastTimeS`: of the last frame given. `truncated`: frames stop well before the container says. */
export interface Decoded {
  frames: number;
  lastTimeS: number;
  /** Lines of complaint from the decoder. */
  decodeErrors: number;
  truncated: boolean;
}

/** Share of a sampling step that a frame may come early, so that rounded times do not skip a frame (0.0627 s for 15 a second). */
const slack = 0.94;

/**
 * Bits for a pixel of a frame from which decoding leaves the loop filter out between key frames: phones film with 0.1 to 0.3 (1080p30 with 8 to
 * 16 Mbit/s). The filter takes a sixth of decoding, and what it changes in so finely coded a picture is less than the sensor's noise once it is scaled
 * down: 45 dB of luma at 512 px. Measured with all 163 labelled clips decoded so: no figure of the tables changes by more than chance.
 */
const finelyCoded = 0.15;

/** Input options for the loop filter (ITU-T H.264, 8.7, and H.265, 8.7); key frames, which are looked at large, always keep it. */
function loopFilter({ facts, timesS }: Container): string[] {
  const bitsPerPixel = (8 * facts.bytes) / (timesS.length * facts.widthPx * facts.heightPx);
  return bitsPerPixel < finelyCoded ? [] : ['-skip_loop_filter', 'nokey'];
}

/**
 * Refuses a clip that did not arrive whole: it ends early, or the decoder complains about more than one frame in ten.
 * @throws ClipError clip-damaged
 */
export function refuseDamaged(decoded: Decoded, clip: Container): void {
  if (decoded.truncated) {
    throw new ClipError('clip-damaged', `frames end at ${decoded.lastTimeS} s of ${clip.facts.durationS} s`);
  }
  if (decoded.decodeErrors > 0.1 * clip.timesS.length) {
    throw new ClipError('clip-damaged', `${decoded.decodeErrors} decoder errors in ${clip.timesS.length} frames`);
  }
}

/**
 * Decodes a clip once, in one process, and gives frames in order. Waits for `onFrame`, so a slow receiver slows the decoder down.
 * @throws ClipError clip-damaged without a single frame, clip-too-many-pixels, clip-codec-unknown, clip-took-too-long,
 * clip-took-too-much-memory; what `onFrame` throws; the signal's reason on abort. The program is gone when it settles.
 */
export async function decodeFrames(
  clip: Container,
  options: DecodeOptions,
  onFrame: (frame: Frame) => void | Promise<void>,
  signal: AbortSignal,
): Promise<Decoded> {
  const { facts, limits } = clip;
  const { keyFrames, everyS, turnDeg } = options;
  const main = outputOf(facts, options, [1, 3]);
  const spread = keyFrames && { ...keyFrames, everyS: facts.durationS / keyFrames.max, turnDeg, keyOnly: true };
  const large = spread && outputOf(facts, spread, [4, 5]);
  const args = [...inputArgs(clip.file, limits.maxPixels, loopFilter(clip)), ...main.args, ...(large?.args ?? [])];
  const ffmpeg = await startFfmpeg(args, { ...limits, maxOutBytes: 1 }, signal);
  const maxFrames = 2 * clip.timesS.length + 100;
  let given = 0;
  let lastTimeS = 0;
  const giveLarge = async () => {
    if (!large) return;
    for await (const frame of frames(ffmpeg.second.stdout, ffmpeg.second.times, large.size))
      if (frame.index < keyFrames!.max) keyFrames!.onFrame(frame);
  };
  const largeGiven = giveLarge();
  largeGiven.catch(ffmpeg.stop);
  try {
    for await (const frame of frames(ffmpeg.stdout, ffmpeg.times, main.size)) {
      if (given >= maxFrames) throw new ClipError('clip-damaged', `over ${maxFrames} frames`);
      given++;
      lastTimeS = frame.timeS;
      await onFrame(frame);
    }
    await largeGiven;
  } catch (error) {
    ffmpeg.stop(error);
    // rejects with the first reason: an abort or the timer closes the pipe, which is only its consequence
    await ffmpeg.ended;
    throw error;
  }
  const end = await ffmpeg.ended;
  if (given === 0) throw errorFrom(end.said);
  const lastExpectedS = (clip.timesS.findLast((time) => time <= facts.durationS) ?? 0) - Math.max(2 * everyS, 0.5);
  return { frames: given, lastTimeS, decodeErrors: end.decodeErrors, truncated: lastTimeS < lastExpectedS };
}

type Size = { widthPx: number; heightPx: number };

/** Arguments for one output of rgb24 frames and for its times, each on a file descriptor of its own. */
function outputOf(
  clip: Size,
  { longSidePx, everyS, turnDeg, keyOnly = false }: DecodeOptions & { keyOnly?: boolean },
  [pictures, times]: [number, number],
): { args: string[]; size: Size } {
  const [width, height] = scaledSize(clip.widthPx, clip.heightPx, longSidePx);
  const [widthPx, heightPx] = turnDeg % 180 === 0 ? [width, height] : [height, width];
  const filters = [
    ...(keyOnly ? ['select=key'] : []),
    ...(everyS > 0 ? [`select='isnan(prev_selected_t)+gte(t-prev_selected_t\\,${slack * everyS})'`] : []),
    `scale=${width}:${height}:flags=area,setsar=1`,
    ...turnFilters(turnDeg),
    `format=rgb24,metadata=mode=add:key=k:value=1,metadata=mode=print:file='pipe\\:${times}':direct=1`,
  ];
  const args = [
    ...['-map', '0:V:0', '-an', '-sn', '-dn', '-vf', filters.join(',')],
    ...['-fps_mode', 'passthrough', '-enc_time_base', '-1', '-f', 'rawvideo', '-pix_fmt', 'rgb24', `pipe:${pictures}`],
  ];
  return { args, size: { widthPx, heightPx } };
}

/** The frames of one output, each with its time. */
async function* frames(pictures: Readable, timesPipe: Readable, size: Size): AsyncGenerator<Frame> {
  const times = new Times(timesPipe);
  let index = 0;
  for await (const data of frameBuffers(pictures, size.widthPx * size.heightPx * 3)) {
    const timeS = await times.next();
    if (timeS === null) return;
    yield { timeS, index: index++, data, ...size };
  }
}

/** Even sizes with the given long side. */
function scaledSize(widthPx: number, heightPx: number, longSidePx: number): [number, number] {
  const scale = longSidePx / Math.max(widthPx, heightPx);
  const even = (px: number) => Math.max(2, 2 * Math.round((px * scale) / 2));
  return [even(widthPx), even(heightPx)];
}

/** Cuts the pipe's chunks into frames; a part of a frame at the end is dropped. */
async function* frameBuffers(pipe: Readable, bytes: number): AsyncGenerator<Buffer> {
  let frame = Buffer.allocUnsafe(bytes);
  let filled = 0;
  for await (const chunk of pipe as AsyncIterable<Buffer>) {
    for (let at = 0; at < chunk.length; ) {
      const part = Math.min(bytes - filled, chunk.length - at);
      chunk.copy(frame, filled, at, at + part);
      filled += part;
      at += part;
      if (filled < bytes) continue;
      yield frame;
      frame = Buffer.allocUnsafe(bytes);
      filled = 0;
    }
  }
}

/** The presentation times that ffmpeg prints on its own pipe, one for each frame, in order. */
class Times {
  private readonly ready: number[] = [];
  private wake: (() => void) | null = null;
  private ended = false;

  constructor(pipe: Readable) {
    let rest = '';
    pipe.setEncoding('latin1').on('data', (text: string) => {
      const lines = (rest + text).split('\n');
      rest = lines.pop() ?? '';
      for (const line of lines) {
        const time = /pts_time:(-?[\d.e+-]+)/.exec(line)?.[1];
        if (time !== undefined) this.ready.push(Number(time));
      }
      this.wake?.();
    });
    pipe.once('close', () => {
      this.ended = true;
      this.wake?.();
    });
  }

  async next(): Promise<number | null> {
    while (this.ready.length === 0 && !this.ended) {
      await new Promise<void>((done) => {
        this.wake = done;
      });
    }
    return this.ready.shift() ?? null;
  }
}

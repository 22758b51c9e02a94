import type { ClipFacts } from '../../src/facts/facts.ts';
import type { ClipLimits } from '../../src/queue/payload.ts';
import { ClipError } from './clip-error.ts';
import { firstLook } from './first-look.ts';
import { type Packet, readTables, type Tables } from './tables.ts';

/** What is known of a clip without decoding it. Times in seconds from the first shown frame. */
export interface Container {
  file: string;
  limits: ClipLimits;
  facts: ClipFacts;
  /** Presentation times, sorted, the first is 0. */
  timesS: number[];
  /** Presentation times of key frames, sorted; only the first frame's when the container does not tell. */
  keyTimesS: number[];
  audioCodec: string | null;
}

/** A pause between two frames that no camera makes (chosen); past it the clip is refused. */
const longestGapS = 60;
/** Packets a second past which a table lies (phones film up to 960 frames a second for moments). */
const maxFps = 1000;
/** A camera's mode meant to be played slowly starts here: 120 and 240 frames a second are the usual ones (common practice). */
const slowMotionFps = 100;
const codecs = new Set(['h264', 'hevc', 'vp8', 'vp9', 'av1']);

/**
 * Reads container and packet tables of an untrusted file and holds them against the limits, without decoding.
 * @throws ClipError with every code but clip-took-too-long of decoding; the signal's reason on abort
 */
export async function readContainer(file: string, limits: ClipLimits, signal: AbortSignal): Promise<Container> {
  const bytes = await firstLook(file, limits.maxBytes);
  signal.throwIfAborted();
  const maxPackets = Math.ceil(limits.maxDurationS * maxFps);
  // a frame past this time is a gap or too long whatever else the table says
  const maxTimeS = limits.maxDurationS + longestGapS;
  const tables = await readTables({ file, bytes, maxPackets, maxTimeS, maxPixels: limits.maxPixels }, signal);
  const video = tables.video;
  if (!video && !tables.cutShort) {
    if (tables.audioCodec !== null) throw new ClipError('clip-image-or-audio-only', `no video track, audio ${tables.audioCodec}`);
    throw new ClipError('clip-damaged', 'no tracks');
  }
  if (video && !(video.codec && codecs.has(video.codec)))
    throw new ClipError('clip-codec-unknown', `codec ${video.codec ?? 'unknown'}`);
  if (video && video.codedWidthPx * video.codedHeightPx > limits.maxPixels) {
    throw new ClipError('clip-too-many-pixels', `${video.codedWidthPx} x ${video.codedHeightPx}, at most ${limits.maxPixels}`);
  }
  const line = timeline(tables.packets);
  if (line.longestGapS > longestGapS) throw new ClipError('clip-time-gaps', `${line.longestGapS} s between two frames`);
  if (tables.packets.length >= maxPackets) throw new ClipError('clip-damaged', `over ${maxPackets} frames`);
  if (line.durationS > limits.maxDurationS)
    throw new ClipError('clip-too-long', `${line.durationS} s, at most ${limits.maxDurationS}`);
  if (!video || line.timesS.length === 0 || video.widthPx < 1 || video.heightPx < 1)
    throw new ClipError('clip-damaged', 'no frames');
  if (line.timesS.length === 1) throw new ClipError('clip-image-or-audio-only', 'one frame');
  if (!(line.durationS > 0)) throw new ClipError('clip-damaged', 'all frames at one time');
  const fps = line.timesS.length / line.durationS;
  return {
    file,
    limits,
    facts: {
      durationS: line.durationS,
      widthPx: video.widthPx,
      heightPx: video.heightPx,
      rotationDeg: video.rotationDeg,
      fps,
      variableFps: isVariable(line.timesS),
      slowMotion: isSlowMotion(fps, tables.tags),
      codec: video.codec!,
      bytes,
    },
    timesS: line.timesS,
    keyTimesS: line.keyTimesS,
    audioCodec: tables.audioCodec,
  };
}

/** Sorts what is shown (packets before an edit list's start have negative times and are not). */
function timeline(packets: Packet[]): { timesS: number[]; keyTimesS: number[]; durationS: number; longestGapS: number } {
  const shown = packets.filter((packet) => packet.timeS >= -1e-6 && packet.bytes > 0).sort((a, b) => a.timeS - b.timeS);
  const first = shown[0]?.timeS ?? 0;
  const timesS = shown.map((packet) => packet.timeS - first);
  const steps = timesS.slice(1).map((time, i) => time - timesS[i]!);
  const usual = steps.toSorted((a, b) => a - b)[Math.floor(steps.length / 2)] ?? 0;
  const last = shown.at(-1)?.durationS ?? 0;
  // the last frame's own length is often left out or stretched
  const lastS = last > 0 && (usual === 0 || last <= 3 * usual) ? last : usual;
  let longest = 0;
  for (const step of steps) longest = Math.max(longest, step);
  const keyTimesS = shown.filter((packet) => packet.isKey).map((packet) => packet.timeS - first);
  return { timesS, keyTimesS, durationS: (timesS.at(-1) ?? 0) + lastS, longestGapS: longest };
}

/** Variable when more than one step in twenty is off the median by over a fifth and 2 ms (rounding of a coarse clock). */
function isVariable(timesS: number[]): boolean {
  const steps = timesS.slice(1).map((time, i) => time - timesS[i]!);
  const usual = steps.toSorted((a, b) => a - b)[Math.floor(steps.length / 2)] ?? 0;
  const off = steps.filter((step) => Math.abs(step - usual) > Math.max(0.2 * usual, 0.002));
  return off.length > 0.05 * steps.length;
}

/**
 * Slow motion: filmed faster than it plays (Android's capture rate tag), or a rate that cameras use for nothing else, unless Apple's
 * tag says that it is meant to be played at full rate. Tag names from memory of the two systems' media documentation.
 */
function isSlowMotion(fps: number, tags: Tables['tags']): boolean {
  const captured = Number(tags['com.android.capture.fps'] ?? Number.NaN);
  if (captured > 1.5 * fps) return true;
  return fps >= slowMotionFps && Number(tags['com.apple.quicktime.full-frame-rate-playback-intent'] ?? 0) !== 1;
}

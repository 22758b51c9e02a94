import { execFile } from 'node:child_process';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { projectPath } from './measured-clips.ts';

const run = promisify(execFile);
/** Length of the clips, s. */
export const benchClipS = 30;

/** The ffmpeg by which clips are made and decoded alone; the measuring process takes the same when it is 5.1 or newer. */
export const benchFfmpeg = process.env.FFMPEG_PATH || process.env.FFMPEG_BIN || 'ffmpeg';

/** A clip made for the bench. */
export interface BenchClip {
  name: string;
  file: string;
  mbitPerS: number;
}

const sizes = [
  { name: '1080p30 landscape', widthPx: 1920, heightPx: 1080, mbitPerS: 12 },
  { name: '720p30 portrait', widthPx: 720, heightPx: 1280, mbitPerS: 5 },
] as const;

/**
 * Makes 30 s clips of 30 fps H.264 in a folder: the project's sample lift over and over, before a blurred copy of itself, with the noise
 * of a phone's sensor, at about the bit rate of phones. Rejects when ffmpeg does.
 */
export async function makeBenchClips(folder: string): Promise<BenchClip[]> {
  const clips: BenchClip[] = [];
  for (const { name, widthPx, heightPx, mbitPerS } of sizes) {
    const file = join(folder, `${name.replace(' ', '-')}.mp4`);
    const size = `${widthPx}:${heightPx}`;
    const picture = [
      'fps=30,split[a][b]',
      `[a]scale=48:48,scale=${size}:flags=bicubic,setsar=1[behind]`,
      `[b]scale=${size}:force_original_aspect_ratio=decrease[lifter]`,
      '[behind][lifter]overlay=(W-w)/2:(H-h)/2,noise=alls=10:allf=t:all_seed=1,format=yuv420p',
    ].join(';');
    const rate = ['-b:v', `${mbitPerS}M`, '-maxrate', `${1.2 * mbitPerS}M`, '-bufsize', `${2 * mbitPerS}M`];
    await run(benchFfmpeg, [
      ...['-nostdin', '-v', 'error', '-y', '-stream_loop', '-1', '-i', projectPath('samples/squat-side.mp4')],
      ...['-t', String(benchClipS), '-filter_complex', picture, '-c:v', 'libx264', '-preset', 'veryfast', '-profile:v', 'high'],
      ...[...rate, '-g', '30', '-movflags', '+faststart', file],
    ]);
    clips.push({ name: `${name}, ${benchClipS} s`, file, mbitPerS: (8 * statSync(file).size) / benchClipS / 1e6 });
  }
  return clips;
}

/** Decodes every frame of a clip and throws it away. Rejects when ffmpeg does. */
export async function decodeAlone(file: string): Promise<void> {
  await run(benchFfmpeg, ['-nostdin', '-v', 'error', '-i', file, '-map', '0:V:0', '-an', '-f', 'null', '-']);
}

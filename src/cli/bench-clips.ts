import { execFile } from 'node:child_process';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { commandFfmpeg, projectPath } from './measured-clips.ts';

const run = promisify(execFile);
const sample = projectPath('samples/squat-side.mp4');

/** A clip made for the bench. */
export interface BenchClip {
  name: string;
  file: string;
  lengthS: number;
  mbitPerS: number;
}

const kinds = [
  { name: '1080p30 landscape', widthPx: 1920, heightPx: 1080, mbitPerS: 12, lengthS: 60, waitS: 0 },
  { name: '720p30 portrait', widthPx: 720, heightPx: 1280, mbitPerS: 5, lengthS: 60, waitS: 0 },
  // below the 250 MB that a clip may have
  { name: '1080p30, mostly preamble', widthPx: 1920, heightPx: 1080, mbitPerS: 10, lengthS: 180, waitS: 150 },
] as const;

/** The sample's first moments, in which the lifter stands, s. */
const standingS = 0.5;

/**
 * Makes clips of 30 fps H.264 in a folder: the project's sample lift over and over, in one after the lifter stood there for a long while,
 * before a blurred copy of itself, with the noise of a phone's sensor, at about the bit rate of phones. Rejects when ffmpeg does.
 */
export async function makeBenchClips(folder: string): Promise<BenchClip[]> {
  const clips: BenchClip[] = [];
  for (const { name, widthPx, heightPx, mbitPerS, lengthS, waitS } of kinds) {
    const file = join(folder, `${name.replace(/\W+/g, '-')}.mp4`);
    const size = `${widthPx}:${heightPx}`;
    const swaying = [
      `[0:v]fps=30,trim=0:${standingS},split[to][back]`,
      '[back]reverse[fro]',
      '[to][fro]concat,loop=-1:32767[wait]',
    ];
    const picture = [
      ...(waitS > 0
        ? [...swaying, `[wait]trim=0:${waitS},setpts=N/30/TB[before]`, '[1:v]fps=30[lift]', '[before][lift]concat[clip]']
        : ['[0:v]fps=30[clip]']),
      '[clip]split[a][b]',
      `[a]scale=48:48,scale=${size}:flags=bicubic,setsar=1[behind]`,
      `[b]scale=${size}:force_original_aspect_ratio=decrease[lifter]`,
      '[behind][lifter]overlay=(W-w)/2:(H-h)/2,noise=alls=10:allf=t:all_seed=1,format=yuv420p',
    ].join(';');
    const rate = ['-b:v', `${mbitPerS}M`, '-maxrate', `${1.2 * mbitPerS}M`, '-bufsize', `${2 * mbitPerS}M`];
    await run(commandFfmpeg, [
      ...['-nostdin', '-v', 'error', '-y', ...(waitS > 0 ? ['-i', sample] : []), '-stream_loop', '-1', '-i', sample],
      ...['-filter_complex', picture, '-t', String(lengthS), '-c:v', 'libx264', '-preset', 'veryfast', '-profile:v', 'high'],
      ...[...rate, '-g', '30', '-movflags', '+faststart', file],
    ]);
    clips.push({ name: `${name}, ${lengthS} s`, file, lengthS, mbitPerS: (8 * statSync(file).size) / lengthS / 1e6 });
  }
  return clips;
}

/** Decodes every frame of a clip and throws it away. Rejects when ffmpeg does. */
export async function decodeAlone(file: string): Promise<void> {
  await run(commandFfmpeg, ['-nostdin', '-v', 'error', '-i', file, '-map', '0:V:0', '-an', '-f', 'null', '-']);
}

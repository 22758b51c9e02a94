import { execFile } from 'node:child_process';
import { basename, join } from 'node:path';
import { promisify } from 'node:util';
import type { Label } from './labels.ts';
import { commandFfmpeg } from './measured-clips.ts';

const run = promisify(execFile);

/** How a clip is changed so that what is known of it stays known. */
interface Change {
  /** Filters of ffmpeg for the pictures. */
  filters: string;
  /** Times of the copy are those of the clip times this. */
  slower?: number;
  /** How coarsely it is coded, constant rate factor of x264. */
  crf?: number;
  /** What is left before the first rep and after the last one, seconds. */
  aroundS?: number;
  /** What is known of the copy. */
  label?: (label: Label) => Partial<Label>;
}

/** Copies that a member could as well have posted: the same lift filmed or cut otherwise. What a change does to the camera is no longer known. */
export const changes = {
  /** As the other side of the lifter would look. */
  mirrored: {
    filters: 'hflip',
    label: ({ azimuthDeg, elevationDeg, heightM, distanceM }) => ({
      ...{ elevationDeg, heightM, distanceM },
      azimuthDeg: azimuthDeg === null ? null : azimuthDeg === 180 ? 180 : -azimuthDeg,
    }),
  },
  /** Trimmed to the lift. */
  tight: { filters: 'null', aroundS: 0.4 },
  /** By a phone that leans by 7 degrees. */
  rolled: { filters: 'rotate=7*PI/180:bilinear=1,crop=iw*0.92:ih*0.92' },
  /** From twice as far, before something blurred. */
  small: { filters: 'split[a][b];[a]gblur=sigma=30[behind];[b]scale=iw/2:ih/2[lift];[behind][lift]overlay=(W-w)/2:(H-h)*0.55' },
  /** As a chat app may send it on: smaller, coded coarsely. */
  coarse: { filters: 'scale=iw*0.7:ih*0.7', crf: 30 },
  /** In a dim room. */
  dim: { filters: 'eq=gamma=0.6:contrast=0.8' },
  quicker: { filters: 'settb=1/1000,setpts=0.8*PTS', slower: 0.8 },
  slower: { filters: 'settb=1/1000,setpts=1.3*PTS', slower: 1.3 },
} satisfies Record<string, Change>;
export type ChangeName = keyof typeof changes;

/**
 * Makes a changed copy of a labelled clip in a folder and gives it with what is known of it; null where the change needs the lift's times and the label
 * does not say them. Rejects when ffmpeg does.
 */
export async function changedClip(label: Label, name: ChangeName, folder: string): Promise<Label | null> {
  const change: Change = changes[name];
  const { startS, endS } = label;
  const { aroundS, slower = 1, crf = 20 } = change;
  if (aroundS !== undefined && (startS === null || endS === null)) return null;
  const fromS = aroundS === undefined ? 0 : Math.max(0, startS! - aroundS);
  const part = aroundS === undefined ? [] : ['-ss', String(fromS), '-t', String(endS! + aroundS - fromS)];
  const file = join(folder, `${basename(label.file).replace(/\.\w+$/, '')}.mp4`);
  await run(commandFfmpeg, [
    ...['-nostdin', '-v', 'error', '-y', ...part, '-i', label.file, '-an'],
    ...['-vf', `${change.filters},scale=trunc(iw/2)*2:trunc(ih/2)*2,format=yuv420p`],
    ...['-c:v', 'libx264', '-preset', 'veryfast', '-crf', String(crf), '-threads', '1'],
    // every frame at its time, whatever the rate
    ...['-fps_mode', 'passthrough', '-enc_time_base', '1:1000', file],
  ]);
  const moved = (timeS: number | null) => (timeS === null ? null : slower * (timeS - fromS));
  const unknown = { elevationDeg: null, heightM: null, distanceM: null, defect: null };
  return { ...label, ...unknown, file, startS: moved(startS), endS: moved(endS), ...change.label?.(label) };
}

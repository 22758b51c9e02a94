import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { make, setMatrix } from '../media/make-clips.ts';

/** A sound clip that hostile ones are made of. `kind` is the container's family. */
export interface SeedClip {
  name: string;
  kind: 'iso' | 'matroska';
  data: Buffer;
}

const picture = ['-f', 'lavfi', '-i', 'testsrc2=size=64x48:rate=8:duration=0.5'];
const sound = ['-f', 'lavfi', '-i', 'sine=duration=0.5'];
const still = ['-threads', '1', '-fflags', '+bitexact', '-flags', '+bitexact'];
const h264 = ['-c:v', 'libx264', '-preset', 'ultrafast', '-pix_fmt', 'yuv420p'];
const hevc = [
  '-c:v',
  'libx265',
  '-preset',
  'ultrafast',
  '-pix_fmt',
  'yuv420p',
  '-x265-params',
  'log-level=none:pools=none',
  '-tag:v',
  'hvc1',
];
const vp9 = ['-c:v', 'libvpx-vp9', '-deadline', 'realtime', '-cpu-used', '8'];
const av1 = ['-c:v', 'libaom-av1', '-cpu-used', '8', '-usage', 'realtime', '-strict', 'experimental'];

/** One of each container and codec that is accepted, with the boxes that phones and editors write; four frames, so that each is quick. */
const recipes: Record<string, string[]> = {
  'tables-last.mp4': [...picture, ...sound, ...h264, '-bf', '2', '-c:a', 'aac', '-shortest'],
  'tables-first.mp4': [...picture, ...h264, '-movflags', 'faststart', '-metadata', 'title=heavy single'],
  'turned.mp4': [...picture, ...h264, '-movflags', 'faststart'],
  'fragments.mp4': [...picture, ...h264, '-g', '2', '-movflags', 'frag_keyframe+empty_moov+default_base_moof'],
  'segments.mp4': [...picture, ...h264, '-g', '2', '-movflags', 'dash+global_sidx'],
  'timecode.mov': [...picture, ...h264, '-timecode', '00:00:01:00'],
  'hevc.mov': [...picture, ...hevc],
  'vp9.mp4': [...picture, ...vp9],
  'av1.mp4': [...picture, ...av1],
  'vp9.webm': [...picture, ...vp9],
  'vp8.webm': [...picture, ...sound, '-c:v', 'libvpx', '-deadline', 'realtime', '-cpu-used', '8', '-c:a', 'libopus', '-shortest'],
  'h264.mkv': [...picture, ...h264, '-metadata', 'title=heavy single', '-cues_to_front', '1'],
  'hevc.mkv': [...picture, ...hevc],
};

/** Makes the sound clips in a folder; the same bytes each time with the same ffmpeg. */
export async function makeSeedClips(folder: string, names: readonly string[] = Object.keys(recipes)): Promise<SeedClip[]> {
  const clips: SeedClip[] = [];
  for (const name of names) {
    const path = join(folder, name);
    await make(...recipes[name]!, ...still, path);
    const data = readFileSync(path);
    if (name === 'turned.mp4') setMatrix(data, [0, 1, -1, 0]);
    clips.push({ name, kind: /\.(mp4|mov)$/.test(name) ? 'iso' : 'matroska', data });
  }
  return clips;
}

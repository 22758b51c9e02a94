/**
 * What checking is measured against by `npm run -s bench`: the heavy model on every frame of one person, nothing chosen, nothing else measured.
 * `plain-pipeline.ts FILE SECONDS LIMITS` (limits as JSON) reads that much of the clip and prints `{ frames, cpuS }` as JSON: CPU seconds of the
 * pose alone, without loading models and without ffmpeg.
 */
import { ClipLimits } from '../src/queue/payload.ts';
import { readContainer } from './media/container.ts';
import { decodeFrames } from './media/decode.ts';
import { loadPose } from './pose/engine.ts';
import type { Region } from './pose/types.ts';
import { sampling } from './second-look.ts';

const [file, seconds, limits] = process.argv.slice(2);
if (file === undefined || seconds === undefined || limits === undefined) throw new Error('plain-pipeline.ts FILE SECONDS LIMITS');
const { signal } = new AbortController();
const clip = await readContainer(file, ClipLimits.parse(JSON.parse(limits)), signal);
const pose = await loadPose({ models: ['heavy'] });
const enough = new Error('enough');
/** As when a clip is measured. */
const [detectorThreshold, leastPresence] = [0.3, 0.5];
let region: Region | null = null;
let [frames, cpuS] = [0, 0];
await decodeFrames(
  clip,
  { longSidePx: sampling.longSidePx, everyS: 0, turnDeg: 0 },
  async (frame) => {
    if (frame.timeS >= Number(seconds)) throw enough;
    const before = process.cpuUsage();
    region ??= (await pose.detect(frame, { threshold: detectorThreshold }))[0]?.region ?? null;
    if (region !== null) {
      const { presence, next } = await pose.landmarks(frame, region, 'heavy');
      region = presence < leastPresence ? null : next;
    }
    const { user, system } = process.cpuUsage(before);
    cpuS += (user + system) / 1e6;
    frames++;
  },
  signal,
).catch((error: unknown) => {
  if (error !== enough) throw error;
});
await pose.close();
process.stdout.write(JSON.stringify({ frames, cpuS }));

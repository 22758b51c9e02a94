import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { z } from 'zod';
import { loadPose } from '../pose/engine.ts';
import { type ClipSpec, numbersFrom, randomClip } from './random-clip.ts';

/** Times of a rep, s; the turn lasts from `turn` to `turnEnd`. */
type RigRep = { start: number; turn: number; turnEnd: number; end: number };

/** What is used of the rig's module `render.mjs`. */
interface Rig {
  plan(spec: ClipSpec): { motion: { reps: RigRep[] } };
  /** Pictures of `width` x `height` as packed rows of red, green, blue. */
  stills(spec: ClipSpec, timesS: number[]): Promise<{ frames: Uint8Array[] }>;
  close(): Promise<void>;
}

const numbers = z.array(z.number());

/** One clip as the heavy pose model saw it: `points` `[33][5]` in picture pixels, `world` `[33][3]` in metres, a pose for each still. */
export const stillsLine = z.strictObject({
  seed: z.number(),
  lift: z.enum(['squat', 'press', 'deadlift', 'bench']),
  azimuthDeg: z.number(),
  elevationDeg: z.number(),
  poses: z.array(z.strictObject({ presence: z.number(), points: numbers, world: numbers })),
});
export type StillsLine = z.infer<typeof stillsLine>;

/** Lowest score and presence of a person that is taken: as when a clip is measured. */
const [detectorThreshold, leastPresence] = [0.3, 0.5];
const leastStills = 6;
const [hipShare, lyingHipM] = [0.53, 0.55];

/** At which times a picture is taken: start, way down, turn and way up of the first two reps. */
function timesOf(reps: readonly RigRep[], random: () => number): number[] {
  const between = (from: number, to: number) => from + (to - from) * (0.35 + 0.3 * random());
  const timesS = reps.slice(0, 2).flatMap((rep) => {
    const { start, turn, turnEnd, end } = rep;
    return [start, between(start, turn), turn, between(turnEnd, end)];
  });
  while (timesS.length < leastStills) timesS.push(reps[0]!.start + (reps[0]!.end - reps[0]!.start) * random());
  return timesS;
}

/** Where the camera stands around the hips of the lifter, who stands upright or lies on a bench, degrees. */
function anglesOf({ lift, camera, stature }: ClipSpec): { azimuthDeg: number; elevationDeg: number } {
  const hipM = lift === 'bench' ? lyingHipM : hipShare * stature;
  const elevationDeg = (Math.atan2(camera.height - hipM, camera.distance) * 180) / Math.PI;
  return { azimuthDeg: camera.azimuth, elevationDeg: Number(elevationDeg.toFixed(2)) };
}

/** Renders clips of random seeds and writes a line for each that shows a person. `rigFolder` holds the render rig (its README has the set-up). */
export async function writeStills(
  rigFolder: string,
  file: string,
  seeds: readonly number[],
  onClip: (done: number) => void,
): Promise<void> {
  const module = (await import(pathToFileURL(join(resolve(rigFolder), 'render.mjs')).href)) as {
    Renderer: { create(): Promise<Rig> };
  };
  const [rig, pose] = [await module.Renderer.create(), await loadPose({ models: ['heavy'] })];
  const out = createWriteStream(file, { flags: 'a' });
  const rounded = (values: Float32Array, digits: number) => Array.from(values, (v) => Number(v.toFixed(digits)));
  try {
    for (const [done, seed] of seeds.entries()) {
      const spec = randomClip(seed);
      const timesS = timesOf(rig.plan(spec).motion.reps, numbersFrom(seed));
      const poses: StillsLine['poses'] = [];
      for (const data of (await rig.stills(spec, timesS)).frames) {
        const image = { data, widthPx: spec.width, heightPx: spec.height };
        const found = await pose.detect(image, { threshold: detectorThreshold });
        const lifter = found.slice(0, 2).sort((a, b) => b.region.sidePx - a.region.sidePx)[0];
        if (lifter === undefined) continue;
        const { presence, points, world } = await pose.landmarks(image, lifter.region, 'heavy');
        if (presence < leastPresence) continue;
        poses.push({ presence: Number(presence.toFixed(2)), points: rounded(points, 2), world: rounded(world, 3) });
      }
      const line: StillsLine = { seed, lift: spec.lift, ...anglesOf(spec), poses };
      if (poses.length > 0 && !out.write(`${JSON.stringify(line)}\n`)) await once(out, 'drain');
      onClip(done + 1);
    }
  } finally {
    out.end();
    await once(out, 'finish');
    await pose.close();
    await rig.close();
  }
}

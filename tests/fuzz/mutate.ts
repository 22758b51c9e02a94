import { createRandom } from '../faults/random.ts';
import { isoBoxes } from './iso-boxes.ts';
import { matroska } from './matroska.ts';
import { nalUnits } from './nal-units.ts';
import { rawBytes } from './raw-bytes.ts';
import { sampleTables } from './sample-tables.ts';
import type { SeedClip } from './seed-clips.ts';
import type { Lures, Mutator } from './values.ts';

/** One hostile file: what it was made of, and how. */
export interface HostileCase {
  number: number;
  clip: string;
  steps: string[];
  data: Buffer;
}

const kinds: Record<SeedClip['kind'], Mutator[][]> = {
  iso: [isoBoxes, sampleTables, sampleTables, nalUnits, rawBytes],
  matroska: [matroska, matroska, matroska, rawBytes],
};
const mostBytes = 4_000_000;

/** The hostile file of a seed and a number: always the same for the same clips and lures, whatever was made before. */
export function hostileCase(seed: number, number: number, clips: readonly SeedClip[], lures: Lures): HostileCase {
  const random = createRandom(Math.imul(seed + 1, 0x9e3779b1) ^ Math.imul(number + 1, 0x85ebca6b));
  const clip = random.pick(clips);
  let data = clip.data;
  const steps: string[] = [];
  const wanted = random.pick([1, 1, 1, 2, 2, 3, 5]);
  for (let tries = 0; steps.length < wanted && tries < 30; tries++) {
    const mutator = random.pick(random.pick(kinds[clip.kind]));
    const changed = data.length === 0 ? null : mutator.change(data, random, lures);
    if (changed === null || changed.length > mostBytes) continue;
    data = changed;
    steps.push(mutator.name);
  }
  return { number, clip: clip.name, steps, data };
}

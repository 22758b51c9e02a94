/**
 * Trains the networks that tell where the camera stands on rendered pictures. `npm run -s train-camera -- stills --rig FOLDER --to FILE [--clips N]
 * [--seed S] [--lift LIFT]` renders clips (with a lift: those that show it) and keeps the poses seen in them; `npm run -s train-camera -- fit
 * azimuth|elevation FILE...` trains on them, says how it does on clips left out, and writes the networks.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { type NetKind, type Nets, netKinds, netsFile } from '../stages/camera-net.ts';
import { fitNet } from './fit.ts';
import { reportOn } from './left-out.ts';
import { randomClip } from './random-clip.ts';
import { type StillsLine, stillsLine, writeStills } from './stills.ts';

const usage =
  'train-camera stills --rig FOLDER --to FILE [--clips N] [--seed S] [--lift LIFT] | train-camera fit azimuth|elevation FILE...';
/** Networks whose answers are averaged; each starts from other numbers. */
const netSeeds = [1, 2];
/** One clip in this many is left out of training to see how it does. */
const leaveOut = 5;

function trained(lines: readonly StillsLine[], kind: NetKind): Nets {
  const nets = (some: readonly StillsLine[]) => netSeeds.map((seed) => fitNet(some, kind, seed));
  return {
    standing: nets(lines.filter(({ lift }) => lift !== 'bench')),
    lying: nets(lines.filter(({ lift }) => lift === 'bench')),
  };
}

function trainOn(files: readonly string[], kind: NetKind): void {
  const lines = files.flatMap((file) =>
    readFileSync(file, 'utf8')
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => stillsLine.parse(JSON.parse(line))),
  );
  const isLeftOut = ({ seed }: StillsLine) => seed % leaveOut === 0;
  const nets = trained(
    lines.filter((line) => !isLeftOut(line)),
    kind,
  );
  for (const line of reportOn(lines.filter(isLeftOut), kind, nets)) console.log(line);
  writeFileSync(netsFile(kind), `${JSON.stringify(trained(lines, kind))}\n`);
  console.log(`trained on ${lines.length} clips, ${lines.reduce((sum, { poses }) => sum + poses.length, 0)} poses`);
}

const isKind = (name: string | undefined): name is NetKind => name !== undefined && name in netKinds;

try {
  const options = {
    rig: { type: 'string' },
    to: { type: 'string' },
    clips: { type: 'string', default: '1000' },
    seed: { type: 'string', default: '1001' },
    lift: { type: 'string' },
  } as const;
  const { values, positionals } = parseArgs({ options, allowPositionals: true });
  const [what, kind, ...files] = positionals;
  if (what === 'stills' && values.rig !== undefined && values.to !== undefined && positionals.length === 1) {
    const all = Array.from({ length: Number(values.clips) }, (_, at) => Number(values.seed) + at);
    const seeds = all.filter((seed) => values.lift === undefined || randomClip(seed).lift === values.lift);
    const startMs = performance.now();
    await writeStills(values.rig, values.to, seeds, (done) => {
      if (done % 10 === 0) console.error(`${done} clips, ${((performance.now() - startMs) / 1000 / done).toFixed(1)} s each`);
    });
  } else if (what === 'fit' && isKind(kind) && files.length > 0) trainOn(files, kind);
  else throw new Error('say stills or fit');
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

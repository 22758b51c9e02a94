/**
 * Trains the networks of the view on rendered pictures. `npm run -s train-view -- stills --rig FOLDER --to FILE [--clips N] [--seed S]` renders clips and
 * keeps the poses seen in them; `npm run -s train-view -- fit FILE...` trains on them, says how it does on clips left out, and writes the networks.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import type { ViewNets } from '../stages/view-net.ts';
import { fitNet } from './fit.ts';
import { errorsOf } from './left-out.ts';
import { type StillsLine, stillsLine, writeStills } from './stills.ts';

const usage = 'train-view stills --rig FOLDER --to FILE [--clips N] [--seed S] | train-view fit FILE...';
const netsFile = new URL('../stages/view-net.json', import.meta.url);
/** Networks whose answers are averaged; each starts from other numbers. */
const netSeeds = [1, 2];
/** One clip in this many is left out of training to see how it does. */
const leaveOut = 5;

const isBench = ({ lift }: StillsLine) => lift === 'bench';

function trained(lines: readonly StillsLine[]): ViewNets {
  const nets = (some: readonly StillsLine[]) => netSeeds.map((seed) => fitNet(some, seed));
  return { standing: nets(lines.filter((line) => !isBench(line))), lying: nets(lines.filter(isBench)) };
}

function trainOn(files: readonly string[]): void {
  const lines = files.flatMap((file) =>
    readFileSync(file, 'utf8')
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => stillsLine.parse(JSON.parse(line))),
  );
  const isLeftOut = ({ seed }: StillsLine) => seed % leaveOut === 0;
  const left = lines.filter(isLeftOut);
  const nets = trained(lines.filter((line) => !isLeftOut(line)));
  for (const [name, some] of [
    ['standing', left.filter((line) => !isBench(line))],
    ['bench', left.filter(isBench)],
  ] as const) {
    for (const [how, use] of Object.entries({ lines: null, both: nets })) {
      const { known, medianDeg, meanDeg, classShare } = errorsOf(some, use);
      const figures = `median ${medianDeg.toFixed(1)}, mean ${meanDeg.toFixed(1)} degrees, class ${(100 * classShare).toFixed(0)} %`;
      console.log(`${name}, ${how}: ${known} of ${some.length} clips left out, ${figures}`);
    }
  }
  writeFileSync(netsFile, `${JSON.stringify(trained(lines))}\n`);
  console.log(`trained on ${lines.length} clips, ${lines.reduce((sum, { poses }) => sum + poses.length, 0)} poses`);
}

try {
  const options = {
    rig: { type: 'string' },
    to: { type: 'string' },
    clips: { type: 'string', default: '1000' },
    seed: { type: 'string', default: '1001' },
  } as const;
  const { values, positionals } = parseArgs({ options, allowPositionals: true });
  const [what, ...files] = positionals;
  if (what === 'stills' && values.rig !== undefined && values.to !== undefined && files.length === 0) {
    const seeds = Array.from({ length: Number(values.clips) }, (_, at) => Number(values.seed) + at);
    const startMs = performance.now();
    await writeStills(values.rig, values.to, seeds, (done) => {
      if (done % 10 === 0) console.error(`${done} clips, ${((performance.now() - startMs) / 1000 / done).toFixed(1)} s each`);
    });
  } else if (what === 'fit' && files.length > 0) trainOn(files);
  else throw new Error('say stills or fit');
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

/** `npm run -s faults -- [--runs N] [--seed S] [--queue embedded|redis] [--database sqlite|postgres] [--lanes N] [--verbose]`. */
import { parseArgs } from 'node:util';
import { runMany } from './many-runs.ts';

const usage =
  'npm run -s faults -- [--runs N] [--seed S] [--queue embedded|redis] [--database sqlite|postgres] [--lanes N] [--verbose]';

/** Ends with exit code 2 and what is wrong. */
function refuse(why: string): never {
  console.error(`${why}\n${usage}`);
  process.exit(2);
}

function readArguments() {
  try {
    return parseArgs({
      options: {
        runs: { type: 'string', default: '20' },
        seed: { type: 'string', default: '1' },
        queue: { type: 'string', default: 'embedded' },
        database: { type: 'string', default: 'sqlite' },
        lanes: { type: 'string', default: '3' },
        verbose: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    return refuse(String((error as Error).message));
  }
}
const given = readArguments();
const numberOf = (name: 'runs' | 'seed' | 'lanes') => {
  const value = Number(given[name]);
  if (!Number.isInteger(value) || value < (name === 'seed' ? 0 : 1) || value > 1e6)
    refuse(`--${name} ${given[name]} is no number that fits`);
  return value;
};
const { queue, database } = given;
if (queue !== 'embedded' && queue !== 'redis') refuse(`--queue ${queue} is neither embedded nor redis`);
if (database !== 'sqlite' && database !== 'postgres') refuse(`--database ${database} is neither sqlite nor postgres`);

const startMs = performance.now();
const results = await runMany({
  ...{ runs: numberOf('runs'), seed: numberOf('seed'), lanes: numberOf('lanes'), queue, database },
  onResult({ seed, ms, clips, lost, doubled, kills, said }) {
    const bad = lost.length + doubled.length > 0;
    if (!bad && !given.verbose) return;
    console.log(`seed ${seed}: ${clips} clips, ${Math.round(ms)} ms, kills: ${kills.join(', ') || 'none'}`);
    for (const text of lost) console.log(`  lost     ${text}`);
    for (const text of doubled) console.log(`  doubled  ${text}`);
    if (bad) console.log(said.replaceAll(/^/gm, '    '));
  },
});

const count = (texts: string[]) => {
  const found = new Map<string, number>();
  for (const text of texts) found.set(text, (found.get(text) ?? 0) + 1);
  return [...found].sort(([a], [b]) => a.localeCompare(b));
};
const sum = (of: (result: (typeof results)[number]) => number) => results.reduce((total, result) => total + of(result), 0);
const bad = results.filter(({ lost, doubled }) => lost.length + doubled.length > 0);
const row = (name: string, value: string | number) => console.log(`${name.padEnd(44)} ${value}`);
const minutes = (performance.now() - startMs) / 60_000;
row('queue, database', `${queue}, ${database}`);
row('runs', `${results.length} (${(results.length / minutes).toFixed(0)} a minute)`);
row(
  'clips posted',
  sum(({ clips }) => clips),
);
row(
  'lost',
  sum(({ lost }) => lost.length),
);
row(
  'doubled',
  sum(({ doubled }) => doubled.length),
);
row(
  'set aside (answered with a sentence)',
  sum(({ setAside }) => setAside),
);
console.log('faults of the platform');
for (const [name, times] of count(
  results.flatMap(({ faults }) => [...faults].flatMap(([kind, n]) => Array<string>(n).fill(kind))),
))
  row(`  ${name}`, times);
console.log('kills (kill -9) by step');
for (const [name, times] of count(results.flatMap(({ kills }) => kills))) row(`  ${name}`, times);
if (bad.length > 0) {
  for (const { seed } of bad)
    console.log(`repeat with: npm run -s faults -- --runs 1 --seed ${seed} --queue ${queue} --database ${database} --verbose`);
  process.exitCode = 1;
}

/** `npm run -s load -- [--clips N] [--channels N] [--seconds S] [--patience S] [--measuring MS] [--seed S] [--real] [--hosts]`. */
import { availableParallelism, cpus, loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { flood, overtakenBy } from './flood.ts';
import { hostRate } from './host-rate.ts';
import { measuringRate } from './measuring-rate.ts';

const usage =
  'npm run -s load -- [--clips N] [--channels N] [--seconds S] [--patience S] [--measuring MS] [--seed S] [--real] [--hosts]';
const longestMarkMs = 3000;
const mostGrowth = 1.25; // of the mean of the last quarter of the time over the first

/** Ends with exit code 2 and what is wrong. */
function refuse(why: string): never {
  console.error(`${why}\n${usage}`);
  process.exit(2);
}

function readArguments() {
  try {
    const options = {
      clips: { type: 'string', default: '1000' },
      channels: { type: 'string', default: '1' },
      patience: { type: 'string', default: '120' },
      measuring: { type: 'string', default: '60' },
      seconds: { type: 'string', default: '60' },
      seed: { type: 'string', default: '1' },
      real: { type: 'boolean', default: false },
      hosts: { type: 'boolean', default: false },
    } as const;
    return parseArgs({ options }).values;
  } catch (error) {
    return refuse(String((error as Error).message));
  }
}
const given = readArguments();
const numberOf = (name: 'clips' | 'channels' | 'seconds' | 'patience' | 'measuring' | 'seed', most: number) => {
  const value = Number(given[name]);
  if (!Number.isInteger(value) || value < 1 || value > most) refuse(`--${name} ${given[name]} is no number from 1 to ${most}`);
  return value;
};
const row = (name: string, value: string) => console.log(`${name.padEnd(52)} ${value}`);
const sorted = (values: readonly number[]) => [...values].sort((a, b) => a - b);
const atShare = (values: readonly number[], share: number) => sorted(values)[Math.ceil(values.length * share) - 1] ?? Number.NaN;
const spread = (ms: readonly number[]) =>
  `p50 ${(atShare(ms, 0.5) / 1000).toFixed(2)}, p95 ${(atShare(ms, 0.95) / 1000).toFixed(2)}, max ${(atShare(ms, 1) / 1000).toFixed(2)} s`;
const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

row('machine', `${cpus()[0]?.model ?? 'unknown'}, ${availableParallelism()} cores, load ${loadavg()[0]?.toFixed(1)} before`);
if (given.real) {
  for (const processes of [1, 2]) {
    const { clips, wallS, cpuS } = await measuringRate(processes, 10, 120);
    const perMinute = (clips * 60) / wallS;
    row(
      `measuring the sample clip, ${processes} process${processes === 1 ? '' : 'es'}`,
      `${clips} clips in ${wallS.toFixed(1)} s: ${perMinute.toFixed(1)} a minute, ${(perMinute / processes).toFixed(1)} a minute and process; CPU ${(cpuS / clips).toFixed(2)} s a clip, ${((60 * clips) / cpuS).toFixed(1)} clips a minute of one core`,
    );
  }
} else if (given.hosts) {
  const perMinute: number[] = [];
  for (const hosts of [1, 2]) {
    const { clips, wallS, cpuS, addresses } = await hostRate(hosts, 6);
    perMinute.push((clips * 60) / wallS);
    row(
      `measuring by ${hosts} worker host${hosts === 1 ? '' : 's'} (${addresses.join(', ')})`,
      `${clips} clips in ${wallS.toFixed(1)} s: ${perMinute.at(-1)?.toFixed(1)} a minute; CPU ${(cpuS / clips).toFixed(2)} s a clip; load ${loadavg()[0]?.toFixed(1)}`,
    );
  }
  row('two hosts / (2 x one host)', (perMinute[1]! / (2 * perMinute[0]!)).toFixed(2));
} else {
  const [count, seconds] = [numberOf('clips', 20_000), numberOf('seconds', 3600)];
  const measuringMs = numberOf('measuring', 60_000);
  const { clips, memory } = await flood({
    ...{ count, channels: numberOf('channels', 500), overMs: seconds * 1000, measuringMs },
    ...{ patienceMs: numberOf('patience', 7200) * 1000, seed: numberOf('seed', 1e9) },
  });
  const lost = clips.filter(({ replies }) => replies === 0).length;
  const doubled = clips.filter(({ replies }) => replies > 1).length;
  const marks = clips.map(({ postedMs, markedMs }) => markedMs - postedMs);
  const endMs = Math.max(...memory.map(({ atMs }) => atMs));
  const quarters = [0, 1, 2, 3].map((q) =>
    mean(memory.filter(({ atMs }) => atMs >= (endMs * q) / 4 && atMs <= (endMs * (q + 1)) / 4).map(({ mb }) => mb)),
  );
  const growth = quarters[3]! / quarters[0]!;
  const passed = overtakenBy(clips);
  row('clips posted', `${clips.length} in ${((clips.at(-1)?.postedMs ?? 0) / 1000).toFixed(1)} s`);
  row('lost, doubled', `${lost}, ${doubled}`);
  row('from post to first mark', spread(marks));
  row(
    `from post to answer (stand-in: ${measuringMs} ms a clip)`,
    spread(clips.map(({ postedMs, answeredMs }) => answeredMs - postedMs)),
  );
  row(
    'memory of the bot by quarter of the time',
    `${quarters.map((mb) => mb.toFixed(0)).join(', ')} MB, last / first ${growth.toFixed(2)}`,
  );
  row(
    "one member's burst of 20: clips answered before another's",
    `p50 ${atShare(passed, 0.5)}, p95 ${atShare(passed, 0.95)}, max ${atShare(passed, 1)}`,
  );
  const faults = [
    ...(lost + doubled > 0 ? ['a clip was lost or doubled'] : []),
    ...(atShare(marks, 1) > longestMarkMs ? [`a mark came later than ${longestMarkMs / 1000} s`] : []),
    ...(growth > mostGrowth ? [`memory grew by more than ${Math.round((mostGrowth - 1) * 100)} %`] : []),
  ];
  for (const fault of faults) console.log(`FELL SHORT: ${fault}`);
  if (faults.length > 0) process.exitCode = 1;
}

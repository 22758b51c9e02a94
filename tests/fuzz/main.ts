/** `npm run -s fuzz -- --runs N --seed S`: hostile clips for the measuring process. Exit code 1 when something was wrong; Ctrl-C ends it with a report. */
import { availableParallelism } from 'node:os';
import { parseArgs } from 'node:util';
import { fuzz } from './run.ts';

const usage = 'fuzz [--runs N] [--seed S] [--from N] [--lanes N] [--keep FOLDER]';
const options = {
  runs: { type: 'string', default: '500' },
  seed: { type: 'string', default: '1' },
  from: { type: 'string', default: '0' },
  lanes: { type: 'string', default: String(Math.max(2, availableParallelism())) },
  keep: { type: 'string', default: 'tmp/fuzz-wrong' },
} as const;

const stop = new AbortController();
const crashes: string[] = [];
process.once('SIGINT', () => stop.abort());
process.on('uncaughtException', (error) => crashes.push(`uncaught: ${error.stack}`));
process.on('unhandledRejection', (error) => crashes.push(`unhandled: ${error}`));

try {
  const { values } = parseArgs({ options });
  const number = (name: 'runs' | 'seed' | 'from' | 'lanes') => {
    const value = Number(values[name]);
    if (!Number.isInteger(value) || value < 0) throw new Error(`--${name} is "${values[name]}", and may be a whole number`);
    return value;
  };
  const startMs = performance.now();
  const report = await fuzz({
    ...{ runs: number('runs'), seed: number('seed'), from: number('from'), lanes: number('lanes'), keep: values.keep },
    stop: stop.signal,
    onCase(done) {
      if (done % 100 === 0) console.error(`${done} done, ${((performance.now() - startMs) / 1000 / done).toFixed(2)} s each`);
    },
  });
  const tookS = (performance.now() - startMs) / 1000;
  console.log(JSON.stringify({ ...report, crashes, tookS: Math.round(tookS) }, null, 2));
  process.exitCode = report.wrong.length + crashes.length > 0 || report.done === 0 ? 1 : 0;
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { parseArgs, promisify } from 'node:util';
import { cutClip, picturesOf, sheetOf } from '../bot/media.ts';
import type { Facts } from '../facts/facts.ts';
import { judge } from '../judge/judge.ts';
import { drawOf } from '../main/words.ts';
import type { Task } from '../queue/payload.ts';
import { childrenOf, cpuSecondsOf } from '../queue/process-cpu.ts';
import { residentMb } from '../queue/process-memory.ts';
import { loadRules } from '../settings/load.ts';
import { type BenchClip, decodeAlone, makeBenchClips } from './bench-clips.ts';
import { type BenchRow, benchTable, type ClipCosts, type Cost, middleOf, sharesOf } from './bench-table.ts';
import { type MeasuringPool, measuringPool, projectPath } from './measured-clips.ts';
import { progressLine } from './progress-line.ts';

const usage = 'bench [--runs N] [--json]';
const memoryEveryMs = 50;
/** Seconds of a clip that the plain pipeline reads: it costs the same for every frame, so the rest is reckoned. */
const plainS = 4;
/** The largest cut, as for the trimmed clip of an answer, bytes. */
const mostCutBytes = 10 * 1024 * 1024;
const run = promisify(execFile);
const line = progressLine(process.stderr);
const rules = loadRules(projectPath('config/rules.yaml'));
const { signal } = new AbortController(); // each task has its own time limit
const sample = projectPath('samples/squat-side.mp4');

async function costOf<T>(work: () => Promise<T>): Promise<Cost & { result: T }> {
  const [startMs, startCpuS] = [performance.now(), cpuSecondsOf(process.pid)];
  const result = await work();
  return { wallS: (performance.now() - startMs) / 1000, cpuS: cpuSecondsOf(process.pid) - startCpuS, result };
}

const workerPid = () => childrenOf(process.pid).find(({ command }) => command.includes('measure-clip'))?.pid ?? 0;

/** Measures a clip once; nothing is tried again. Throws when it fails or nobody is in it: the figures would mean nothing. */
async function measureOnce(file: string, { run, limits }: MeasuringPool) {
  let peakRssMb = 0;
  const watch = setInterval(() => {
    peakRssMb = Math.max(peakRssMb, residentMb(workerPid()) ?? 0);
  }, memoryEveryMs);
  try {
    const measured = await costOf(() => run({ kind: 'measure', id: 'bench', file: resolve(file), limits }));
    const answer = measured.result;
    if (answer.kind !== 'facts') throw new Error(`${file}: ${answer.kind === 'failed' ? answer.code : answer.kind}`);
    if (!answer.facts.people.known) throw new Error(`${file}: no person was found`);
    return { ...measured, peakRssMb, answer };
  } finally {
    clearInterval(watch);
  }
}

/** Draws what can go with an answer: the contact sheet, the camera's place and the timeline; cuts the clip to the lift as the bot does. */
async function answerOnce(file: string, facts: Facts, folder: string, { run, limits }: MeasuringPool) {
  const failed = (_: object, text: string) => {
    throw new Error(`${file}: ${text}`);
  };
  const log = { info() {}, warn: failed, error: failed };
  const deps = {
    runTask: (task: Task) => run(task),
    draw: drawOf(() => rules),
    spool: folder,
    log,
    settings: () => ({ limits }),
  };
  const clip = { id: 'bench', clipPath: file };
  const judgement = judge(facts, { forcedLift: null, settings: rules });
  const pictures = await costOf(async () => {
    await sheetOf(clip, facts, judgement, deps, signal);
    await picturesOf(clip, facts, judgement, deps);
  });
  if (!facts.liftWindow.known) throw new Error(`${file}: no lift was found`);
  const part = judgement.trim ?? facts.liftWindow.value;
  const trim = await costOf(() => cutClip(clip, facts, part, mostCutBytes, deps, signal));
  return { pictures, trim };
}

/** CPU seconds that the heavy model would take on every frame of a clip: `workers/plain-pipeline.ts` on the first seconds, times the rest. */
async function plainCpuS(clip: BenchClip, { limits }: MeasuringPool): Promise<number> {
  const script = projectPath('workers/plain-pipeline.ts');
  const { stdout } = await run(process.execPath, ['--import', 'tsx', script, clip.file, String(plainS), JSON.stringify(limits)]);
  const { cpuS } = JSON.parse(stdout) as { cpuS: number };
  return (cpuS * clip.lengthS) / plainS;
}

/** Decoding and measuring in turn, so that other load on the machine meets both. */
async function benchClip(clip: BenchClip, runs: number, folder: string, measuring: MeasuringPool): Promise<BenchRow> {
  const costs: ClipCosts[] = [];
  for (let i = 0; i < runs; i++) {
    line.show(`${clip.name}: run ${i + 1} of ${runs}`);
    const decode = await costOf(() => decodeAlone(clip.file));
    const { answer, peakRssMb, wallS, cpuS } = await measureOnce(clip.file, measuring);
    const poseCpuS = answer.poseCpuS ?? Number.NaN;
    const rest = await answerOnce(clip.file, answer.facts, folder, measuring);
    costs.push({ decode, measure: { wallS, cpuS }, poseCpuS, peakRssMb, ...rest });
  }
  line.show(`${clip.name}: the heavy model on every frame`);
  const { name, lengthS, mbitPerS } = clip;
  return { name, lengthS, mbitPerS, ...middleOf(costs), plainCpuS: await plainCpuS(clip, measuring) };
}

async function bench(runs: number, json: boolean): Promise<void> {
  if (!existsSync('/proc/self/stat')) throw new Error('the bench reads CPU time from /proc, so it needs Linux');
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-bench-'));
  try {
    line.show('making clips');
    const clips = await makeBenchClips(folder);
    const measuring = measuringPool(1);
    try {
      line.show('starting');
      const [cold, warm] = [await measureOnce(sample, measuring), await measureOnce(sample, measuring)];
      const startWallS = cold.wallS - warm.wallS;
      const startCpuS = cold.cpuS - warm.cpuS;
      const rows: BenchRow[] = [];
      for (const clip of clips) rows.push(await benchClip(clip, runs, folder, measuring));
      line.clear();
      if (json)
        console.log(
          JSON.stringify({ runs, startWallS, startCpuS, clips: rows.map((row) => ({ ...row, shares: sharesOf(row) })) }),
        );
      else {
        console.log(benchTable(rows));
        const start = `${startWallS.toFixed(2)} s wall, ${startCpuS.toFixed(2)} s CPU`;
        console.log(`Starting the process and loading the models, once: ${start} (the sample clip cold less the same one warm).`);
      }
    } finally {
      await measuring.pool.close();
    }
  } finally {
    line.clear();
    rmSync(folder, { recursive: true, force: true });
  }
}

try {
  const options = { runs: { type: 'string', default: '3' }, json: { type: 'boolean', default: false } } as const;
  const { values } = parseArgs({ options });
  const runs = Number(values.runs);
  if (!Number.isInteger(runs) || runs < 1) throw new Error(`--runs is "${values.runs}", and may be 1 or more`);
  await bench(runs, values.json);
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

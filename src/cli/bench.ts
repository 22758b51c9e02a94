import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs, promisify } from 'node:util';
import { childrenOf, cpuSecondsOf } from '../queue/process-cpu.ts';
import { residentMb } from '../queue/process-memory.ts';
import { loadRules } from '../settings/load.ts';
import { type BenchClip, benchClipS, decodeAlone, makeBenchClips } from './bench-clips.ts';
import { checkClip } from './check-clip.ts';
import { type MeasuringPool, measuringPool, projectPath } from './measured-clips.ts';
import { progressLine } from './progress-line.ts';

const usage = 'bench [--runs N] [--json]';
const memoryEveryMs = 50;
const run = promisify(execFile);
const line = progressLine(process.stderr);

/** Wall and CPU seconds of a piece of work, programs that it starts included. */
interface Cost {
  wallS: number;
  cpuS: number;
}

/** One check of a clip: its whole cost, and CPU seconds by stage of the measuring process. */
interface Checked extends Cost {
  stageCpuS: Record<string, number>;
  peakRssMb: number;
}

async function costOf(work: () => Promise<unknown>): Promise<Cost> {
  const [startMs, startCpuS] = [performance.now(), cpuSecondsOf(process.pid)];
  await work();
  return { wallS: (performance.now() - startMs) / 1000, cpuS: cpuSecondsOf(process.pid) - startCpuS };
}

const workerPid = () => childrenOf(process.pid).find(({ command }) => command.includes('measure-clip'))?.pid ?? null;

async function checkOnce(file: string, measuring: MeasuringPool): Promise<Checked> {
  const stageCpuS: Record<string, number> = {};
  let peakRssMb = 0;
  let [stage, sinceCpuS] = [null as string | null, 0];
  const pass = (next: string | null) => {
    const nowCpuS = cpuSecondsOf(workerPid() ?? 0);
    if (stage !== null) stageCpuS[stage] = (stageCpuS[stage] ?? 0) + nowCpuS - sinceCpuS;
    [stage, sinceCpuS] = [next, nowCpuS];
  };
  const watch = setInterval(() => {
    peakRssMb = Math.max(peakRssMb, residentMb(workerPid() ?? 0) ?? 0);
  }, memoryEveryMs);
  const options = { rules: loadRules(projectPath('config/rules.yaml')), unitWhenSilent: null, warn: console.error };
  try {
    const cost = await costOf(async () => {
      const result = await checkClip(file, '', options, measuring, (_, at) => at !== stage && pass(at));
      pass(null);
      if ('error' in result) throw new Error(`${file}: ${result.error.code}`);
      if (!result.facts.people.known) throw new Error(`${file}: no person was found, so the figures would mean nothing`);
    });
    return { ...cost, stageCpuS, peakRssMb };
  } finally {
    clearInterval(watch);
  }
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const round = (value: number) => Math.round(value * 100) / 100;

/** Decoding and checking in turn, so that other load on the machine meets both. The medians of the runs. */
async function benchClip(clip: BenchClip, runs: number, measuring: MeasuringPool) {
  const decoded: Cost[] = [];
  const checked: Checked[] = [];
  for (let i = 0; i < runs; i++) {
    line.show(`${clip.name}: run ${i + 1} of ${runs}`);
    decoded.push(await costOf(() => decodeAlone(clip.file)));
    checked.push(await checkOnce(clip.file, measuring));
  }
  const stages = Object.keys(checked[0]?.stageCpuS ?? {});
  const decodeCpuS = median(decoded.map(({ cpuS }) => cpuS));
  const checkCpuS = median(checked.map(({ cpuS }) => cpuS));
  const plain = decodeCpuS + (await plainCpuS(clip, measuring));
  return {
    clip: clip.name,
    mbitPerS: round(clip.mbitPerS),
    decodeWallS: round(median(decoded.map(({ wallS }) => wallS))),
    decodeCpuS: round(decodeCpuS),
    checkWallS: round(median(checked.map(({ wallS }) => wallS))),
    checkCpuS: round(checkCpuS),
    ratio: round(checkCpuS / decodeCpuS),
    plainCpuS: round(plain),
    plainRatio: round(plain / checkCpuS),
    peakRssMb: Math.round(Math.max(...checked.map(({ peakRssMb }) => peakRssMb))),
    stageCpuS: Object.fromEntries(stages.map((stage) => [stage, round(median(checked.map((c) => c.stageCpuS[stage] ?? 0)))])),
  };
}

/** Seconds of a clip that the plain pipeline reads: it costs the same for every frame, so the rest is reckoned. */
const plainS = 4;

/** CPU seconds that the heavy model would take on every frame of a clip: `workers/plain-pipeline.ts` on the first seconds, times the rest. */
async function plainCpuS(clip: BenchClip, { limits }: MeasuringPool): Promise<number> {
  line.show(`${clip.name}: the heavy model on every frame`);
  const script = projectPath('workers/plain-pipeline.ts');
  const { stdout } = await run(process.execPath, ['--import', 'tsx', script, clip.file, String(plainS), JSON.stringify(limits)]);
  const { cpuS } = JSON.parse(stdout) as { cpuS: number };
  return (cpuS * benchClipS) / plainS;
}

type Row = Awaited<ReturnType<typeof benchClip>>;

function table(rows: readonly Row[], start: Cost): string {
  const s = (value: number) => `${value.toFixed(2)} s`;
  const lines: [string, (row: Row) => string][] = [
    ['', (row) => row.clip],
    ['bit rate', (row) => `${row.mbitPerS} Mbit/s`],
    ['decoding alone, wall', (row) => s(row.decodeWallS)],
    ['decoding alone, CPU', (row) => s(row.decodeCpuS)],
    ['checking, wall', (row) => s(row.checkWallS)],
    ['checking, CPU', (row) => s(row.checkCpuS)],
    ['CPU, checking : decoding', (row) => row.ratio.toFixed(2)],
    ['the heavy model on every frame, CPU', (row) => s(row.plainCpuS)],
    ['CPU, that : checking', (row) => row.plainRatio.toFixed(1)],
    ['peak memory (RSS, with ffmpeg)', (row) => `${row.peakRssMb} MB`],
    ...Object.keys(rows[0]?.stageCpuS ?? {}).map((stage): [string, (row: Row) => string] => [
      `  CPU of ${stage}`,
      (row) => s(row.stageCpuS[stage] ?? 0),
    ]),
  ];
  const cells = lines.map(([head, show]) => [head, ...rows.map(show)]);
  const widths = cells[0]!.map((_, i) => Math.max(...cells.map((row) => row[i]!.length)));
  const text = cells.map((row) =>
    row.map((cell, i) => (i === 0 ? cell.padEnd(widths[i]!) : cell.padStart(widths[i]!))).join('  '),
  );
  return `${text.join('\n')}\nStarting the process and the models, once: ${s(start.wallS)} wall, ${s(start.cpuS)} CPU (with the sample clip).`;
}

async function bench(runs: number, json: boolean): Promise<void> {
  if (!existsSync('/proc/self/stat')) throw new Error('the bench reads CPU time from /proc, so it needs Linux');
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-bench-'));
  const measuring = measuringPool(1);
  try {
    line.show('making clips');
    const clips = await makeBenchClips(folder);
    line.show('starting');
    const start = await checkOnce(projectPath('samples/squat-side.mp4'), measuring);
    const rows: Row[] = [];
    for (const clip of clips) rows.push(await benchClip(clip, runs, measuring));
    line.clear();
    const first = { wallS: round(start.wallS), cpuS: round(start.cpuS) };
    console.log(json ? JSON.stringify({ runs, clips: rows, first }) : table(rows, first));
  } finally {
    line.clear();
    await measuring.pool.close();
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

import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { type Confinement, leastRights } from '../../src/queue/confinement.ts';
import type { ClipLimits } from '../../src/queue/payload.ts';
import type { FinalAnswer } from '../../src/queue/port.ts';
import { childrenOf } from '../../src/queue/process-cpu.ts';
import { residentMb } from '../../src/queue/process-memory.ts';
import { createWorkerPool } from '../../src/queue/worker-pool.ts';
import { type HostileCase, hostileCase } from './mutate.ts';
import { makeSeedClips } from './seed-clips.ts';
import { canTrace, createTraceReader, traced } from './trace.ts';
import { startTrap } from './trap.ts';

export interface FuzzOptions {
  runs: number;
  seed: number;
  /** Number of the first case. */
  from: number;
  /** Folder for cases that something was wrong with. */
  keep: string;
  /** Measuring processes; every second one keeps its network, so that the trap can catch. */
  lanes: number;
  /** Sound clips to start from; all without. */
  clips?: readonly string[];
  /** Ends the run after the case in hand, with a report of what was done. */
  stop: AbortSignal;
  onCase?: (done: number) => void;
}

/** What a run found. `wrong` must be empty. */
export interface FuzzReport {
  done: number;
  /** How many cases ended how: `facts`, or a code. */
  outcomes: Record<string, number>;
  /** Cases that something was wrong with: number, clip, steps, what. */
  wrong: string[];
  /** Cases that were ended at a limit of time or memory. */
  atLimits: string[];
  slowestS: number;
  peakMb: number;
  /** Resident memory of this process, which stands for the bot, MB. */
  botMb: [number, number];
  opened: Record<string, number> | null;
  trapped: number;
  /** Cases of which the process had no network. */
  networkless: number;
}

const entry = fileURLToPath(new URL('../../workers/measure-clip.ts', import.meta.url));
/** The product's limits (config/settings.yaml), but for the time: a clip of four frames is done in one second. */
const limits: ClipLimits = { maxBytes: 50_000_000, maxDurationS: 120, maxPixels: 36_000_000, timeoutS: 40, maxMemoryMb: 1500 };
const memoryEveryMs = 100;
const never = new AbortController().signal;
/** What the watch may be late by when a process fills memory as fast as it can, MB. */
const lateMb = 512;
const graceS = 5;

/** The confinement without the network namespace. */
const withNetwork: Confinement = {
  around(command, mb) {
    const parts = leastRights.around(command, mb);
    const at = parts.findIndex((part) => part.endsWith('/unshare'));
    return at < 0 ? parts : parts.toSpliced(at, parts.indexOf('--', at) - at + 1);
  },
};

const rssMb = () => process.memoryUsage().rss / 1048576;

/** Has the real measuring process read hostile clips, one after the other in each lane, and watches what it does. */
export async function fuzz({ runs, seed, from, keep, lanes, clips: names, stop, onCase }: FuzzOptions): Promise<FuzzReport> {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-fuzz-'));
  const trap = await startTrap();
  const report: FuzzReport = {
    done: 0,
    outcomes: {},
    wrong: [],
    atLimits: [],
    slowestS: 0,
    peakMb: 0,
    botMb: [rssMb(), 0],
    opened: null,
    trapped: 0,
    networkless: 0,
  };
  const isTraced = canTrace();
  const lures = { address: `http://127.0.0.1:${trap.port}/clip`, file: join(folder, 'canary.mp4') };
  const seeds = join(folder, 'seeds');
  mkdirSync(seeds);
  const clips = await makeSeedClips(seeds, names);
  writeFileSync(lures.file, clips[0]!.data);
  let next = from;

  const blame = (one: HostileCase, what: string) => {
    mkdirSync(keep, { recursive: true });
    writeFileSync(join(keep, `${seed}-${one.number}-${one.clip}`), one.data);
    report.wrong.push(`${one.number} ${one.clip} (${one.steps.join(', ')}): ${what}`);
  };

  async function lane(number: number): Promise<void> {
    const open = number % 2 === 1;
    const trace = isTraced ? createTraceReader(join(folder, `trace-${number}`)) : null;
    const base = open ? withNetwork : leastRights;
    const confinement = trace === null ? base : traced(base, join(folder, `trace-${number}`));
    const own = join(folder, `lane-${number}`);
    mkdirSync(own);
    // the lane's process is told from the others' by an argument that Node passes over
    const pool = createWorkerPool({
      size: 1,
      entry,
      recycleAfter: 400,
      confinement,
      nodeArguments: ['--import', 'tsx', `--title=fuzz-lane-${number}`],
    });
    const pidOf = () => childrenOf(process.pid).find(({ command }) => command.includes(`fuzz-lane-${number}`))?.pid ?? 0;
    try {
      while (next < from + runs && !stop.aborted) {
        const one = hostileCase(seed, next++, clips, lures);
        const file = join(own, `${one.number}.clip`);
        writeFileSync(file, one.data);
        let mb = 0;
        const watch = setInterval(() => {
          mb = Math.max(mb, residentMb(pidOf()) ?? 0);
        }, memoryEveryMs);
        const ask = () => pool.run({ kind: 'measure', id: `fuzz-${one.number}`, file, limits }, { signal: never });
        const startMs = performance.now();
        let answer: FinalAnswer = await ask();
        // the queue tries once more what may pass
        if (answer.kind === 'failed' && answer.retry) {
          if (answer.code === 'worker-died') blame(one, `a process died: ${answer.detail}`);
          answer = await ask();
        }
        const tookS = (performance.now() - startMs) / 1000;
        clearInterval(watch);
        const outcome = answer.kind === 'failed' ? answer.code : answer.kind;
        report.outcomes[outcome] = (report.outcomes[outcome] ?? 0) + 1;
        if (outcome.startsWith('clip-took')) {
          const detail = answer.kind === 'failed' ? answer.detail : '';
          report.atLimits.push(`${one.number} ${one.clip} (${one.steps.join(', ')}): ${outcome}, ${detail.slice(-200)}`);
        }
        report.slowestS = Math.max(report.slowestS, tookS);
        report.peakMb = Math.max(report.peakMb, mb);
        if (tookS > 2 * (limits.timeoutS + graceS)) blame(one, `took ${tookS.toFixed(1)} s`);
        if (mb > limits.maxMemoryMb + lateMb) blame(one, `${Math.round(mb)} MB`);
        if (!readFileSync(file).equals(one.data)) blame(one, 'the clip was changed');
        const before = trace?.total.forbidden.length ?? 0;
        trace?.read((path) => path === file);
        for (const line of trace?.total.forbidden.slice(before) ?? []) blame(one, `traced: ${line}`);
        rmSync(file);
        report.networkless += open ? 0 : 1;
        report.done++;
        onCase?.(report.done);
      }
    } finally {
      await pool.close();
      if (trace !== null) {
        await wait(200); // the tracer writes its last lines
        trace.read((path) => path.startsWith(own));
        const opened: Record<string, number> = report.opened ?? {};
        report.opened = opened;
        for (const [what, count] of Object.entries(trace.total.opened)) opened[what] = (opened[what] ?? 0) + count;
        trace.close();
      }
    }
    const left = readdirSync(own);
    if (left.length > 0) report.wrong.push(`left beside the clips: ${left.join(' ')}`);
  }

  try {
    await Promise.all(Array.from({ length: lanes }, (_, number) => lane(number)));
    report.trapped = trap.caught();
    if (report.trapped > 0) report.wrong.push(`the trap caught ${report.trapped}`);
    report.botMb[1] = rssMb();
    return report;
  } finally {
    trap.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

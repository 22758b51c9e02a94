import { type ChildProcess, spawn } from 'node:child_process';
import { readdirSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Confinement } from './confinement.ts';
import { Answer, type Task } from './payload.ts';
import type { FinalAnswer } from './port.ts';
import { cpuSecondsOf } from './process-cpu.ts';
import { residentMb } from './process-memory.ts';
import { newTemporaryFolder } from './temporary-folder.ts';

export interface RunOptions {
  signal: AbortSignal;
  onProgress?: ((share: number, stage: string) => void) | undefined;
}

const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const passedOn = ['PATH', 'LANG', 'LC_ALL', 'LD_LIBRARY_PATH'];
/** glibc gives large blocks (frames, crops, tensors) back to the system at once and keeps few arenas; tsx keeps no files of its own. */
const quiet = { MALLOC_ARENA_MAX: '2', MALLOC_MMAP_THRESHOLD_: '262144', TSX_DISABLE_CACHE: '1' };
const watchEveryMs = 200; // chosen: five looks a second
const keptErrorChars = 2000; // chosen: the end of a stack trace
/** More news of one clip than any measuring tells: a process that floods the bot. Chosen. */
const mostMessages = 2000;
const starved = /out of memory|bad_alloc|allocation failed|Cannot allocate memory/i;

/** How a measuring process is started. */
export interface WorkerStart {
  /** Absolute path of the file that Node runs. */
  entry: string;
  /** Added to the process's otherwise empty environment. */
  env?: Record<string, string> | undefined;
  /** Arguments of Node before `entry`; without them it is a TypeScript file and its loader is started first. */
  nodeArguments?: readonly string[] | undefined;
  confinement: Confinement;
  /** Cores that a clip may keep busy for all the time that it has, 2 without: one measures while ffmpeg decodes on another. */
  busyCores?: number | undefined;
}

/**
 * Holds one measuring process, started by path when a task needs it. The process is confined, has a group of its own, so that what it
 * started dies with it, its own temporary folder, emptied after each clip and removed when it ends, and an environment of `PATH` and
 * locale only plus `env`. One task at a time.
 */
export class WorkerProcess {
  private child: ChildProcess | null = null;
  private folder = '';
  private errors = '';
  private done = 0;

  constructor(private readonly how: WorkerStart) {}

  /** Tasks finished by the running process, 0 after each start. */
  get tasksDone(): number {
    return this.child === null ? 0 : this.done;
  }

  /**
   * Sends the task and waits for its last answer. A process that ends gives `worker-died` (retry), one that is silent for
   * `limits.timeoutS` or that uses up `busyCores` times as much CPU time gives `clip-took-too-long`, one above `limits.maxMemoryMb` (with its
   * programs) `clip-took-too-much-memory`; each time the process is killed. Rejects only when `signal` is aborted, with its reason.
   */
  run(task: Task, { signal, onProgress }: RunOptions): Promise<FinalAnswer> {
    signal.throwIfAborted();
    const { timeoutS, maxMemoryMb } = task.limits;
    const child = this.child ?? this.spawn(maxMemoryMb);
    const pid = child.pid ?? 0;
    const cpuS = (this.how.busyCores ?? 2) * timeoutS;
    const mostCpuS = cpuSecondsOf(pid) + cpuS;
    let messages = 0;
    return new Promise((resolve, reject) => {
      const finish = (kill: boolean, end: () => void) => {
        clearTimeout(timer);
        clearInterval(watch);
        child.off('message', onMessage).off('exit', onExit).off('error', onError);
        signal.removeEventListener('abort', onAbort);
        if (kill) this.kill();
        else {
          this.done += 1;
          this.emptyFolder();
        }
        end();
      };
      const fail = (code: 'worker-died' | 'clip-took-too-long' | 'clip-took-too-much-memory', detail: string) =>
        finish(true, () => resolve({ kind: 'failed', id: task.id, code, detail, retry: code === 'worker-died' }));
      const onMessage = (message: unknown) => {
        messages += 1;
        if (messages > mostMessages) return fail('worker-died', `over ${mostMessages} messages`);
        const parsed = Answer.safeParse(message);
        if (!parsed.success) return fail('worker-died', `answer outside the contract: ${parsed.error.issues[0]?.message ?? ''}`);
        const answer = parsed.data;
        if (answer.id !== task.id) return;
        if (answer.kind === 'progress') onProgress?.(answer.share, answer.stage);
        else finish(false, () => resolve(answer));
      };
      const onExit = (code: number | null, by: string | null) => {
        const said = this.errors.trim();
        fail(starved.test(said) ? 'clip-took-too-much-memory' : 'worker-died', `ended with ${by ?? code}: ${said}`);
      };
      const onError = (error: Error) => fail('worker-died', error.message);
      const onAbort = () => finish(true, () => reject(signal.reason));
      const timer = setTimeout(() => fail('clip-took-too-long', `no answer in ${timeoutS} s`), timeoutS * 1000);
      const watch = setInterval(() => {
        const mb = residentMb(pid);
        if (mb !== null && mb > maxMemoryMb) fail('clip-took-too-much-memory', `${Math.round(mb)} MB`);
        else if (cpuSecondsOf(pid) > mostCpuS) fail('clip-took-too-long', `over ${cpuS} s of CPU time`);
      }, watchEveryMs);
      child.on('message', onMessage).on('exit', onExit).on('error', onError);
      signal.addEventListener('abort', onAbort, { once: true });
      child.send(task, (error) => {
        if (error !== null && child.exitCode === null && child.signalCode === null) onError(error);
      });
    });
  }

  /** Ends the process and all that it started at once; the next task starts a new one. */
  kill(): void {
    const child = this.child;
    this.child = null;
    if (child?.pid === undefined) return;
    try {
      process.kill(-child.pid, 'SIGKILL');
    } catch {
      // The group is gone already.
    }
  }

  /** What a clip left behind is gone before the next one is read. */
  private emptyFolder(): void {
    try {
      for (const name of readdirSync(this.folder)) rmSync(join(this.folder, name), { recursive: true, force: true });
    } catch {
      // a folder that cannot be emptied goes with its process
      this.kill();
    }
  }

  private spawn(maxMemoryMb: number): ChildProcess {
    const { entry, nodeArguments = ['--import', loader], confinement } = this.how;
    const folder = newTemporaryFolder('worker');
    const env: Record<string, string> = { ...quiet, ...this.how.env, TMPDIR: folder };
    for (const name of passedOn) if (process.env[name] !== undefined) env[name] = process.env[name];
    const [program = '', ...rest] = confinement.around([process.execPath, ...nodeArguments, entry], maxMemoryMb);
    const child = spawn(program, rest, {
      env,
      serialization: 'advanced',
      detached: true,
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    this.child = child;
    this.folder = folder;
    this.errors = '';
    this.done = 0;
    child.stderr?.setEncoding('utf8').on('data', (text: string) => {
      this.errors = (this.errors + text).slice(-keptErrorChars);
    });
    child.on('error', () => {});
    child.once('exit', () => {
      if (this.child === child) this.kill();
      rmSync(folder, { recursive: true, force: true });
    });
    return child;
  }
}

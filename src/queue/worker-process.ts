import { type ChildProcess, fork } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Answer, type Task } from './payload.ts';
import type { FinalAnswer } from './port.ts';
import { residentMb } from './process-memory.ts';

export interface RunOptions {
  signal: AbortSignal;
  onProgress?: ((share: number, stage: string) => void) | undefined;
}

const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const passedOn = ['PATH', 'LANG', 'LC_ALL', 'LD_LIBRARY_PATH'];
/** glibc gives large blocks (frames, crops, tensors) back to the system at once and keeps few arenas. */
const allocator = { MALLOC_ARENA_MAX: '2', MALLOC_MMAP_THRESHOLD_: '262144' };
const memoryEveryMs = 200;
const keptErrorChars = 2000;

/**
 * Holds one measuring process, started by path when a task needs it. The process has a group of its own, so that what it started dies
 * with it, its own temporary folder, removed when it ends, and an environment of `PATH` and locale only plus `env`.
 * One task at a time.
 */
export class WorkerProcess {
  private child: ChildProcess | null = null;
  private errors = '';
  private done = 0;

  constructor(
    private readonly entry: string,
    private readonly env: Record<string, string> = {},
    private readonly nodeArguments: readonly string[] = ['--import', loader],
  ) {}

  /** Tasks finished by the running process, 0 after each start. */
  get tasksDone(): number {
    return this.child === null ? 0 : this.done;
  }

  /**
   * Sends the task and waits for its last answer. A process that ends gives `worker-died` (retry), one that is silent for
   * `limits.timeoutS` gives `clip-took-too-long`, one above `limits.maxMemoryMb` (with its programs) `clip-took-too-much-memory`;
   * each time the process is killed. Rejects only when `signal` is aborted, with its reason.
   */
  run(task: Task, { signal, onProgress }: RunOptions): Promise<FinalAnswer> {
    signal.throwIfAborted();
    const child = this.child ?? this.spawn();
    const pid = child.pid ?? 0;
    return new Promise((resolve, reject) => {
      const finish = (kill: boolean, end: () => void) => {
        clearTimeout(timer);
        clearInterval(watch);
        child.off('message', onMessage).off('exit', onExit).off('error', onError);
        signal.removeEventListener('abort', onAbort);
        if (kill) this.kill();
        else this.done += 1;
        end();
      };
      const fail = (code: 'worker-died' | 'clip-took-too-long' | 'clip-took-too-much-memory', detail: string) =>
        finish(true, () => resolve({ kind: 'failed', id: task.id, code, detail, retry: code === 'worker-died' }));
      const onMessage = (message: unknown) => {
        const parsed = Answer.safeParse(message);
        if (!parsed.success) return fail('worker-died', `answer outside the contract: ${parsed.error.issues[0]?.message ?? ''}`);
        const answer = parsed.data;
        if (answer.id !== task.id) return;
        if (answer.kind === 'progress') onProgress?.(answer.share, answer.stage);
        else finish(false, () => resolve(answer));
      };
      const onExit = (code: number | null, by: string | null) =>
        fail('worker-died', `ended with ${by ?? code}: ${this.errors.trim()}`);
      const onError = (error: Error) => fail('worker-died', error.message);
      const onAbort = () => finish(true, () => reject(signal.reason));
      const timer = setTimeout(
        () => fail('clip-took-too-long', `no answer in ${task.limits.timeoutS} s`),
        task.limits.timeoutS * 1000,
      );
      const watch = setInterval(() => {
        const mb = residentMb(pid);
        if (mb !== null && mb > task.limits.maxMemoryMb) fail('clip-took-too-much-memory', `${Math.round(mb)} MB`);
      }, memoryEveryMs);
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

  private spawn(): ChildProcess {
    const folder = mkdtempSync(join(tmpdir(), 'quarterview-worker-'));
    const env: Record<string, string> = { ...allocator, ...this.env, TMPDIR: folder };
    for (const name of passedOn) if (process.env[name] !== undefined) env[name] = process.env[name];
    const child = fork(this.entry, {
      execArgv: [...this.nodeArguments],
      env,
      serialization: 'advanced',
      detached: true,
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    this.child = child;
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

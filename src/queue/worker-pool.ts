import { type Confinement, leastRights } from './confinement.ts';
import type { Task } from './payload.ts';
import type { FinalAnswer } from './port.ts';
import { type RunOptions, WorkerProcess, type WorkerStart } from './worker-process.ts';

export interface WorkerPoolOptions extends Omit<WorkerStart, 'confinement'> {
  /** Processes at once, at least 1. */
  size: number;
  /** A process is ended after this many tasks, so that slow leaks never add up. */
  recycleAfter: number;
  /** Without one, the least rights that this system lets a process have. */
  confinement?: Confinement;
}

/** See {@link WorkerProcess.run} for what `run` gives and when it rejects; tasks above `size` wait in order. */
export interface WorkerPool {
  readonly size: number;
  run(task: Task, options: RunOptions): Promise<FinalAnswer>;
  /** Kills all processes; tasks under way end as `worker-died`, waiting ones reject. */
  close(): Promise<void>;
}

/** A fixed number of measuring processes, started when first needed. */
export function createWorkerPool({ size, recycleAfter, confinement = leastRights, ...start }: WorkerPoolOptions): WorkerPool {
  const all = Array.from({ length: size }, () => new WorkerProcess({ ...start, confinement }));
  const idle = [...all];
  const waiting: ((worker: WorkerProcess) => void)[] = [];
  const closed = new AbortController();

  const take = (signal: AbortSignal): Promise<WorkerProcess> => {
    const worker = idle.pop();
    if (worker !== undefined) return Promise.resolve(worker);
    return new Promise((resolve, reject) => {
      const onAbort = () => {
        waiting.splice(waiting.indexOf(give), 1);
        reject(signal.reason);
      };
      const give = (free: WorkerProcess) => {
        signal.removeEventListener('abort', onAbort);
        resolve(free);
      };
      signal.addEventListener('abort', onAbort, { once: true });
      waiting.push(give);
    });
  };
  const giveBack = (worker: WorkerProcess) => {
    if (worker.tasksDone >= recycleAfter) worker.kill();
    const next = waiting.shift();
    if (next === undefined) idle.push(worker);
    else next(worker);
  };

  return {
    size,
    async run(task, { signal, onProgress }) {
      const either = AbortSignal.any([signal, closed.signal]);
      either.throwIfAborted();
      const worker = await take(either);
      try {
        return await worker.run(task, { signal: either, onProgress });
      } finally {
        giveBack(worker);
      }
    },
    async close() {
      closed.abort(new Error('the worker pool is closed'));
      for (const worker of all) worker.kill();
    },
  };
}

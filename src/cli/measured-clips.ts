import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { ClipLimits, Task } from '../queue/payload.ts';
import type { FinalAnswer } from '../queue/port.ts';
import { createWorkerPool, type WorkerPool } from '../queue/worker-pool.ts';
import { loadSettings } from '../settings/load.ts';

/** Absolute path of a file of the project. */
export const projectPath = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));

/** The ffmpeg by which a command makes and decodes clips of its own; the measuring process takes the same when it is 5.1 or newer. */
export const commandFfmpeg = process.env.FFMPEG_PATH || process.env.FFMPEG_BIN || 'ffmpeg';

/** Measuring processes of a command; close the pool at the end. */
export interface MeasuringPool {
  pool: WorkerPool;
  limits: ClipLimits;
  /** Runs any task. Rejects when the pool is closed. */
  run(task: Task, onProgress?: (share: number, stage: string) => void): Promise<FinalAnswer>;
  /** Measures a clip, once more when what failed may pass. Rejects when the pool is closed. */
  measure(file: string, onProgress?: (share: number, stage: string) => void): Promise<FinalAnswer>;
}

/** Measuring processes with the limits of config/settings.yaml, and the ffmpeg that FFMPEG_PATH or FFMPEG_BIN names. */
export function measuringPool(size: number): MeasuringPool {
  const { limits } = loadSettings(projectPath('config/settings.yaml'));
  const env: Record<string, string> = {};
  for (const name of ['FFMPEG_PATH', 'FFMPEG_BIN']) if (process.env[name]) env[name] = process.env[name];
  const pool = createWorkerPool({ size, env, entry: projectPath('workers/measure-clip.ts'), recycleAfter: 100 });
  const { signal } = new AbortController(); // each task has its own time limit, and closing the pool ends all
  const run: MeasuringPool['run'] = (task, onProgress) => pool.run(task, { signal, onProgress });
  return {
    ...{ pool, limits, run },
    async measure(file, onProgress) {
      const task = { kind: 'measure', id: file, file: resolve(file), limits } as const;
      const answer = await run(task, onProgress);
      return answer.kind === 'failed' && answer.retry ? run(task, onProgress) : answer;
    },
  };
}

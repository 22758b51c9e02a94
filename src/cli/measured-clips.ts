import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createWorkerPool, type WorkerPool } from '../queue/worker-pool.ts';
import { loadSettings } from '../settings/load.ts';

/** Absolute path of a file of the project. */
export const projectPath = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));

/** Measuring processes for a command, with the limits of config/settings.yaml; close the pool at the end. */
export function measuringPool(size: number): { pool: WorkerPool; measure: (file: string) => ReturnType<WorkerPool['run']> } {
  const { limits } = loadSettings(projectPath('config/settings.yaml'));
  const pool = createWorkerPool({ size, entry: projectPath('workers/measure-clip.ts'), recycleAfter: 100 });
  const measure = (file: string) =>
    pool.run(
      { kind: 'measure', id: file, file: resolve(file), limits },
      { signal: AbortSignal.timeout((limits.timeoutS + 10) * 1000) },
    );
  return { pool, measure };
}

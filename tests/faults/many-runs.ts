import { startPostgres } from '../ledger/real-postgres.ts';
import { bundlePrograms } from './bundle.ts';
import { openLane } from './lane.ts';
import { type RunResult, runOnce } from './run.ts';

export interface ManyRuns {
  runs: number;
  /** Seed of the first run; the others follow. */
  seed: number;
  queue: 'embedded' | 'redis';
  database: 'sqlite' | 'postgres';
  /** Runs beside each other. */
  lanes: number;
  onResult?(result: RunResult): void;
}

/** Runs seeds `seed` .. `seed + runs - 1`, each on a ledger of its own. Needs redis-server or PostgreSQL where they are asked for. */
export async function runMany({ runs, seed, queue, database, lanes, onResult }: ManyRuns): Promise<RunResult[]> {
  const programs = await bundlePrograms();
  const postgres = database === 'postgres' ? await startPostgres() : null;
  const results: RunResult[] = [];
  let next = 0;
  try {
    await Promise.all(
      Array.from({ length: Math.min(lanes, runs) }, async () => {
        const lane = await openLane(programs, queue);
        try {
          while (next < runs) {
            const own = seed + next;
            next += 1;
            const result = await runOnce(own, lane, programs, (await postgres?.url()) ?? null);
            results.push(result);
            onResult?.(result);
          }
        } finally {
          await lane.close();
        }
      }),
    );
  } finally {
    await postgres?.stop();
    programs.remove();
  }
  return results.sort((a, b) => a.seed - b.seed);
}

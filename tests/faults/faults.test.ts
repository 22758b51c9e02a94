import { expect, it } from 'vitest';
import { runMany } from './many-runs.ts';

it.each([
  { queue: 'embedded', database: 'sqlite', seed: 100, runs: 4 },
  { queue: 'redis', database: 'sqlite', seed: 200, runs: 4 },
  { queue: 'embedded', database: 'postgres', seed: 300, runs: 2 },
] as const)(
  'answers every clip exactly once, whatever dies: $queue queue, $database, $runs schedules from seed $seed',
  async (given) => {
    const results = await runMany({ ...given, lanes: 2 });
    expect(results).toHaveLength(given.runs);
    for (const { seed, lost, doubled, said } of results)
      expect({ seed, lost, doubled, said }).toEqual({ seed, lost: [], doubled: [], said });
    // A schedule in which nothing dies proves nothing.
    expect(results.flatMap(({ kills }) => kills).length).toBeGreaterThan(given.runs / 2);
    expect(results.reduce((sum, { clips }) => sum + clips, 0)).toBeGreaterThan(2 * given.runs);
  },
  600_000, // a run takes as long as it gets on; see run.ts
);

import { execFileSync } from 'node:child_process';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { connectRedis } from '../../src/queue/redis-connection.ts';
import { until } from '../bot/setup.ts';
import { startRedis } from './real-redis.ts';

const replyWithinMs = 1500;
let redis: Awaited<ReturnType<typeof startRedis>>;
beforeAll(async () => {
  redis = await startRedis();
});
afterAll(() => redis.stop());

it('keeps a new connection although the one before broke with a question open', async () => {
  const killer = connectRedis(redis.url);
  const first = connectRedis(redis.url, { replyWithinMs });
  for (const connection of [first, first.duplicate()]) {
    let closed = 0;
    connection
      .on('error', () => {})
      .on('close', () => {
        closed += 1;
      });
    const id = await connection.client('ID');
    const answer = connection.blpop('nothing', 0.5);
    await until(async () => /flags=b/.test(String(await killer.client('LIST', 'ID', id))));
    await killer.client('KILL', 'ID', id);
    expect(await answer).toBeNull();
    await wait(replyWithinMs + 500); // beyond the limit of the first connection
    expect(closed).toBe(1);
    connection.disconnect();
  }
  killer.disconnect();
});

it('lets a process end that asked something when it disconnected', () => {
  const program = `
    import { connectRedis } from './src/queue/redis-connection.ts';
    const connection = connectRedis('${redis.url}');
    await connection.ping();
    connection.blpop('nothing', 0).catch(() => {});
    setTimeout(() => connection.disconnect(), 100);`;
  const command = ['--import', 'tsx', '--input-type=module', '--eval', program];
  execFileSync(process.execPath, command, { timeout: 25_000 }); // below the half minute of the limit
});

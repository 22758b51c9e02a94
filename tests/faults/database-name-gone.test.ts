/** Names of Redis and PostgreSQL that cannot be resolved for a while, with real servers behind them. */
import { setTimeout as wait } from 'node:timers/promises';
import { Redis } from 'ioredis';
import { expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/open.ts';
import { createBullQueue } from '../../src/queue/bullmq.ts';
import { until } from '../bot/setup.ts';
import { startPostgres } from '../ledger/real-postgres.ts';
import { startRedis } from '../queue/real-redis.ts';
import { pretendNames } from './names.ts';
import { closeAfterEach, sceneOn } from './on-platform.ts';

const later = closeAfterEach();
function names() {
  const made = pretendNames();
  later(made.undo);
  return made;
}

it('Redis: takes clips while its name is away, says so once, and hands them over when it is back', async () => {
  const resolver = names();
  const redis = await startRedis();
  later(redis.stop);
  resolver.away.add('redis.invalid');
  const lines: string[] = [];
  const queue = createBullQueue({
    ...{ redisUrl: `redis://redis.invalid:${new URL(redis.url).port}`, prefix: 'names', addressOf: null },
    log: { info() {}, warn: (fields, text) => void lines.push(`${text} ${JSON.stringify(fields)}`) },
    ...{ sweepEveryMs: 100, resignAfterMs: 50 },
  });
  later(() => queue.stop(0));
  const handlers = { onStarted() {}, onProgress() {}, onResult: async () => {} };
  await queue.start(handlers, new AbortController().signal);
  const limits = { maxBytes: 1000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 };
  await queue.enqueue({ id: 'room-clips-1-a', member: 'room/juno', file: '/nowhere/a.clip', limits });
  await until(() => resolver.asked.length > 5);
  expect(lines.filter((line) => line.startsWith('Redis {') && line.includes('ENOTFOUND redis.invalid'))).toHaveLength(1);
  resolver.away.clear();
  const client = new Redis(redis.url);
  later(() => client.disconnect());
  await until(async () => (await client.exists('names:clips:room-clips-1-a')) === 1);
});

it('PostgreSQL: goes on when the name of the database can be resolved again, and says so at a start without it', async () => {
  const resolver = names();
  const postgres = await startPostgres();
  later(postgres.stop);
  const databaseUrl = (await postgres.url()).replace('127.0.0.1', 'db.invalid');
  resolver.away.add('db.invalid');
  await expect(openLedger({ databaseUrl })).rejects.toMatchObject({
    code: 'ledger-unreachable',
    message: expect.stringContaining('ENOTFOUND db.invalid'),
  });
  resolver.away.clear();
  const scene = await sceneOn(later, { watched: { room: ['form-check'] } }, { place: { databaseUrl } });
  await scene.startBot();
  const first = await scene.world.say(['clean']);
  await scene.answered(1);
  resolver.away.add('db.invalid');
  await postgres.cut();
  const second = await scene.world.say(['fix'], { by: 'odo', sentAtMs: scene.clock.nowMs });
  await until(() => scene.lines('ENOTFOUND').length > 0);
  await wait(1500);
  expect(scene.operator.length).toBeLessThan(15);
  resolver.away.clear();
  await scene.answered(2);
  const replies = [first, second].map(({ ref }) => scene.world.replies(ref).map((post) => post.message.text));
  expect(replies).toEqual([['reply clean first'], ['reply fix first']]);
});

import { readFileSync } from 'node:fs';
import { Hono } from 'hono';
import { Redis } from 'ioredis';
import { expect, it } from 'vitest';
import { serveOperator } from '../../src/main/operator.ts';
import { createBullQueue } from '../../src/queue/bullmq.ts';
import { startRedisWorker } from '../../src/queue/redis-worker.ts';
import { until } from '../bot/setup.ts';
import { exampleFacts } from '../queue/fixtures/facts.ts';
import { startRedis } from '../queue/real-redis.ts';

const limits = { maxBytes: 1000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 };
const log = { info() {}, warn() {} };

it('leaves the file of a try alone that stalled and is begun again by the same worker', async () => {
  const redis = await startRedis();
  const server = await serveOperator(
    new Hono().get('/clip', (c) => c.body('the clip')),
    '127.0.0.1',
    0,
  );
  const files: string[] = [];
  const held: (() => void)[] = [];
  const pool = {
    size: 2,
    async run(task: { id: string; file: string }) {
      files.push(task.file);
      await new Promise<void>((resolve) => held.push(resolve));
      return { kind: 'facts' as const, id: task.id, facts: exampleFacts(10), timings: {} };
    },
    close: async () => {},
  };
  const worker = await startRedisWorker({ redisUrl: redis.url, prefix: 'stalled', pool, sharedFolder: null, log, lockMs: 1000 });
  const queue = createBullQueue({
    ...{ redisUrl: redis.url, prefix: 'stalled', log, sweepEveryMs: 500, resignAfterMs: 50 },
    addressOf: () => `${server.url}/clip`,
  });
  const answers: string[] = [];
  const ended = new AbortController();
  await queue.start(
    { onStarted() {}, onProgress() {}, onResult: async (id, answer) => void answers.push(`${id} ${answer.kind}`) },
    ended.signal,
  );
  await queue.enqueue({ id: 'a', member: 'juno', file: '/nowhere', limits });
  await until(() => files.length === 1);
  // As when the worker was too busy to keep its lock: BullMQ puts the clip back, and this worker has a place free.
  const client = new Redis(redis.url);
  await until(async () => {
    await client.del('stalled:clips:a:lock');
    return files.length === 2;
  });
  expect(files.map((path) => readFileSync(path, 'utf8'))).toEqual(['the clip', 'the clip']);
  held[0]?.();
  await new Promise((resolve) => setTimeout(resolve, 200));
  expect(readFileSync(files[1] ?? '', 'utf8')).toBe('the clip');
  // Tries that lost their lock cannot end the job; the one that holds it does.
  await until(() => {
    for (const go of held.splice(0)) go();
    return answers.length > 0;
  });
  expect(new Set(answers)).toEqual(new Set(['a facts']));
  client.disconnect();
  await queue.stop(0);
  await worker.stop(0);
  await server.close();
  await redis.stop();
});

/** How a clip on Redis could be lost, one by one: each of these left one waiting for ever. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo, Socket } from 'node:net';
import { connect, createServer as createTcpServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { Queue as BullQueue } from 'bullmq';
import { Redis } from 'ioredis';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type BullQueueOptions, createBullQueue } from '../../src/queue/bullmq.ts';
import { queueName } from '../../src/queue/job.ts';
import type { FinalAnswer, QueueHandlers } from '../../src/queue/port.ts';
import { startRedisWorker } from '../../src/queue/redis-worker.ts';
import type { WorkerPool } from '../../src/queue/worker-pool.ts';
import { until } from '../bot/setup.ts';
import { exampleFacts } from './fixtures/facts.ts';
import { startRedis } from './real-redis.ts';

const limits = { maxBytes: 1000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 };
const log = { info() {}, warn() {} };
const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-lost-'));
/** Measures at once. */
const pool: WorkerPool = {
  size: 1,
  run: async ({ id }) => ({ kind: 'facts', id, facts: exampleFacts(10), timings: {} }),
  close: async () => {},
};
function item(id: string) {
  const file = join(folder, `${id}.clip`);
  writeFileSync(file, '');
  return { id, member: 'juno', file, limits };
}
const handlers = (onResult: QueueHandlers['onResult']): QueueHandlers => ({ onStarted() {}, onProgress() {}, onResult });

let redis: Awaited<ReturnType<typeof startRedis>>;
let prefix = '';
let ends: (() => unknown)[] = [];
let runs = 0;
beforeAll(async () => {
  redis = await startRedis();
});
afterAll(async () => {
  await redis.stop();
  rmSync(folder, { recursive: true });
});
beforeEach(() => {
  runs += 1;
  prefix = `lost${runs}`;
});
afterEach(async () => {
  for (const end of ends.reverse()) await end();
  ends = [];
});

function openQueue(options: Partial<BullQueueOptions> = {}) {
  const usual = { redisUrl: redis.url, prefix, addressOf: null, log, sweepEveryMs: 100, resignAfterMs: 20 };
  const queue = createBullQueue({ ...usual, ...options });
  ends.push(() => queue.stop(0));
  return queue;
}
async function openWorker(options: { fetchMs?: number } = {}) {
  const worker = await startRedisWorker({
    redisUrl: redis.url,
    prefix,
    pool,
    sharedFolder: folder,
    log,
    lockMs: 5000,
    ...options,
  });
  ends.push(() => worker.stop(0));
  return worker;
}
/** What stands in Redis, without the bot. */
function openBull() {
  const connection = new Redis(redis.url, { maxRetriesPerRequest: null });
  const bull = new BullQueue(queueName, { connection, prefix });
  ends.push(async () => {
    await bull.close();
    connection.disconnect();
  });
  return { bull, connection };
}
const never = () => new AbortController().signal;
/** As when Redis lost it. */
async function lose(bull: BullQueue, id: string) {
  await until(async () => (await bull.getJob(id)) !== undefined);
  expect(await bull.remove(id)).toBe(1);
}

describe('a clip whose job is gone from Redis', () => {
  it('is put in again although jobs of clips that the bot no longer knows make up the number', async () => {
    const { bull } = openBull();
    await bull.add('measure', {}, { jobId: 'forgotten' });
    const queue = openQueue();
    await queue.start(
      handlers(async () => {}),
      never(),
    );
    await until(async () => (await bull.count()) === 1);
    await queue.enqueue(item('juno-squat'));
    await lose(bull, 'juno-squat');
    await until(async () => (await bull.getJob('juno-squat')) !== undefined);
  });

  it('is put in again although the result of another one cannot be kept', async () => {
    const first = openQueue();
    await first.start(
      handlers(() => Promise.reject(new Error('no'))),
      never(),
    );
    const worker = await openWorker();
    await first.enqueue(item('odo-press'));
    const { bull } = openBull();
    await until(async () => (await bull.getCompletedCount()) === 1);
    await worker.stop(0);
    await first.stop(0);
    const queue = openQueue();
    let told = 0;
    await queue.start(
      handlers(() => {
        told += 1;
        return Promise.reject(new Error('the database refuses this one'));
      }),
      never(),
    );
    await until(() => told > 0);
    await queue.enqueue(item('juno-squat'));
    await lose(bull, 'juno-squat');
    await until(async () => (await bull.getJob('juno-squat')) !== undefined);
  });

  it('is put in again although what is left of the job stands in no line', async () => {
    const { bull, connection } = openBull();
    const queue = openQueue();
    await queue.start(
      handlers(async () => {}),
      never(),
    );
    await queue.enqueue(item('juno-squat'));
    await until(async () => (await bull.getJob('juno-squat')) !== undefined);
    await connection.zrem(bull.toKey('prioritized'), 'juno-squat');
    await until(async () => (await connection.zscore(bull.toKey('prioritized'), 'juno-squat')) !== null);
  });
});

it('measures on when a fetch of a clip hangs', async () => {
  let asked = 0;
  const server: Server = createServer((_, response) => {
    asked += 1;
    if (asked > 1) response.end('the clip');
  }).listen(0, '127.0.0.1');
  ends.push(() => {
    server.closeAllConnections();
    server.close();
  });
  await until(() => server.listening);
  const answers: [string, FinalAnswer['kind']][] = [];
  const queue = openQueue({ addressOf: () => `http://127.0.0.1:${(server.address() as AddressInfo).port}/` });
  await queue.start(
    handlers(async (id, { kind }) => void answers.push([id, kind])),
    never(),
  );
  await openWorker({ fetchMs: 300 });
  await queue.enqueue(item('juno-squat'));
  await until(() => asked === 1);
  // Node 20 collects a time limit as garbage that nothing but AbortSignal.any refers to, and then it is none.
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  await until(() => {
    collect();
    return answers.length > 0;
  });
  expect(answers).toEqual([['juno-squat', 'facts']]);
});

it('makes a connection anew on which Redis does not answer', async () => {
  const { port } = new URL(redis.url);
  let silent = false;
  const open = new Set<Socket>();
  const between = createTcpServer((from) => {
    const to = connect(Number(port), '127.0.0.1');
    for (const one of [from, to]) open.add(one.on('error', () => {}));
    from.on('data', (data) => to.write(data)).on('close', () => to.destroy());
    // What was open when the line fell silent stays silent; a new connection works.
    const heard = silent;
    to.on('data', (data) => silent === heard && from.write(data)).on('close', () => from.destroy());
  }).listen(0, '127.0.0.1');
  ends.push(() => {
    for (const one of open) one.destroy();
    between.close();
  });
  await until(() => between.listening);
  const answers: string[] = [];
  const redisUrl = `redis://127.0.0.1:${(between.address() as AddressInfo).port}`;
  const queue = openQueue({ redisUrl, replyWithinMs: 500 });
  await queue.start(
    handlers(async (id) => void answers.push(id)),
    never(),
  );
  await openWorker();
  silent = true;
  await queue.enqueue(item('juno-squat'));
  await until(() => answers.length > 0);
  expect(answers).toEqual(['juno-squat']);
});

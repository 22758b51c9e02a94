/** Bot and workers that share the folder of clips, each under a path of its own. */
import { mkdirSync, mkdtempSync, renameSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { createBullQueue } from '../../src/queue/bullmq.ts';
import type { FinalAnswer, Queue } from '../../src/queue/port.ts';
import { startRedisWorker } from '../../src/queue/redis-worker.ts';
import { createWorkerPool } from '../../src/queue/worker-pool.ts';
import { until } from '../bot/setup.ts';
import { startRedis } from './real-redis.ts';

const entry = fileURLToPath(new URL('./fixtures/worker.ts', import.meta.url));
const limits = { maxBytes: 1000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 };

let redis: Awaited<ReturnType<typeof startRedis>>;
let home: string;
let spool: string;
let shared: string;
let queue: Queue;
let answers: [string, FinalAnswer][];
let warned: string[];
let ends: (() => unknown)[] = [];
let runs = 0;
beforeAll(async () => {
  redis = await startRedis();
});
afterAll(() => redis.stop());
beforeEach(async () => {
  runs += 1;
  home = mkdtempSync(join(tmpdir(), 'quarterview-test-shared-'));
  [spool, shared] = [join(home, 'spool'), join(home, 'mounted')];
  mkdirSync(spool);
  answers = [];
  warned = [];
  const log = { info() {}, warn: (details: object) => void warned.push(JSON.stringify(details)) };
  queue = createBullQueue({
    ...{ redisUrl: redis.url, prefix: `shared${runs}`, addressOf: null },
    ...{ log, sweepEveryMs: 100, resignAfterMs: 20 },
  });
  const pool = createWorkerPool({ size: 1, entry, recycleAfter: 50 });
  await queue.start(
    { onStarted() {}, onProgress() {}, onResult: async (id, answer) => void answers.push([id, answer]) },
    new AbortController().signal,
  );
  const quiet = { info() {}, warn() {} };
  const worker = await startRedisWorker({
    ...{ redisUrl: redis.url, prefix: `shared${runs}`, pool },
    ...{ sharedFolder: shared, log: quiet, lockMs: 5000 },
  });
  ends = [() => worker.stop(0), () => pool.close(), () => queue.stop(0)];
});
afterEach(async () => {
  for (const end of ends) await end();
  rmSync(home, { recursive: true });
});

function item(id: string, text: string) {
  const file = join(spool, `${id}.clip`);
  writeFileSync(file, text);
  return { id, member: 'juno', file, limits };
}

it('measures the clip of that name in the folder as the worker sees it', async () => {
  symlinkSync(spool, shared);
  await queue.enqueue(item('juno-squat', 'facts'));
  await until(() => answers.length === 1);
  await queue.enqueue(item('odo-press', 'bad'));
  await until(() => answers.length === 2);
  expect(answers).toMatchObject([
    ['juno-squat', { kind: 'facts' }],
    ['odo-press', { kind: 'failed', code: 'clip-not-video' }],
  ]);
});

it('waits, however long, until the folder is there, and says why', async () => {
  mkdirSync(shared); // as a mount point is when nothing is mounted
  await queue.enqueue(item('juno-squat', 'facts'));
  await until(() => warned.filter((line) => line.includes('ENOENT')).length > 12); // the connection may tell of itself before
  expect(answers).toEqual([]);
  renameSync(shared, `${shared}-before`);
  symlinkSync(spool, shared);
  await until(() => answers.length === 1);
  expect(answers).toMatchObject([['juno-squat', { kind: 'facts' }]]);
});

it('gives a clip up that is gone from the folder of the bot too', async () => {
  symlinkSync(spool, shared);
  const clip = item('juno-squat', 'facts');
  rmSync(clip.file);
  await queue.enqueue(clip);
  await until(() => answers.length === 1);
  expect(answers).toMatchObject([['juno-squat', { kind: 'failed' }]]);
});

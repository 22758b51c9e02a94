/** The queue's promises. One file over 300 lines: every case runs on both queues, and one Redis is started for all. */
import { fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { serve } from '@hono/node-server';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';
import { createBullQueue } from '../../src/queue/bullmq.ts';
import { clipRoutes } from '../../src/queue/clip-routes.ts';
import { createEmbeddedQueue } from '../../src/queue/embedded.ts';
import type { ClipLimits } from '../../src/queue/payload.ts';
import type { FinalAnswer, Queue } from '../../src/queue/port.ts';
import { startRedisWorker } from '../../src/queue/redis-worker.ts';
import { createClipAddresses } from '../../src/queue/signed-address.ts';
import { createWorkerPool, type WorkerPool } from '../../src/queue/worker-pool.ts';
import { startRedis } from './real-redis.ts';

const entry = fileURLToPath(new URL('./fixtures/worker.ts', import.meta.url));
const host = fileURLToPath(new URL('./fixtures/host.ts', import.meta.url));
const log = { info() {}, warn() {} };
const limits: ClipLimits = { maxBytes: 1e6, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 };
const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-queue-'));
const files = new Map<string, string>();
let nowMs = 1000;
const addresses = createClipAddresses({ secret: 'millrace', expiresAfterMs: 1000, run: 'this', nowMs: () => nowMs });
let redis: Awaited<ReturnType<typeof startRedis>>;
let server: ReturnType<typeof serve>;
let base = '';

beforeAll(async () => {
  redis = await startRedis();
  const app = clipRoutes({ addresses, fileOf: async (id) => files.get(id) ?? null });
  server = serve({ fetch: app.fetch, port: 0, hostname: '127.0.0.1' });
  await once(server, 'listening');
  base = `http://127.0.0.1:${(server.address() as { port: number }).port}/`;
});
afterAll(async () => {
  server.close();
  await redis.stop();
  rmSync(folder, { recursive: true });
});

/** What a queue told, in order. */
function recorder() {
  const results: [string, FinalAnswer][] = [];
  const started: string[] = [];
  const progress: [string, number][] = [];
  const handlers = {
    onStarted: (id: string) => void started.push(id),
    onProgress: (id: string, share: number) => void progress.push([id, share]),
    onResult: async (id: string, answer: FinalAnswer) => void results.push([id, answer]),
  };
  return { results, started, progress, handlers };
}
async function until(what: () => boolean): Promise<void> {
  for (let i = 0; !what(); i += 1) {
    if (i > 2000) throw new Error('waited 20 s in vain');
    await wait(10);
  }
}

let n = 0;
function item(text: string, member = 'juno') {
  n += 1;
  const id = `room-form-check-${n}-clip`;
  const file = join(folder, `${id}.clip`);
  writeFileSync(file, text);
  files.set(id, file);
  return { id, member, file, limits };
}

describe.each(['embedded', 'bullmq'] as const)('%s queue', (engine) => {
  let ledger: Ledger;
  let pool: WorkerPool;
  let prefix = '';
  let signal: AbortSignal;
  let open: { stop(graceMs: number): Promise<void> }[] = [];
  beforeEach(async () => {
    signal = new AbortController().signal;
    n += 1;
    prefix = `test${n}`;
    ledger = await openLedger({ file: join(folder, `${n}.sqlite`) });
    nowMs = 1000;
    open = [];
  });
  afterEach(async () => {
    for (const one of open.reverse()) await one.stop(0);
    await pool?.close();
    await ledger.close();
  });

  function makeQueue(): Queue {
    if (engine === 'embedded') {
      pool = createWorkerPool({ size: 1, entry, recycleAfter: 50 });
      const queue = createEmbeddedQueue({ store: ledger.jobs, pool, log, retryAfterMs: 50 });
      open.push(queue);
      return queue;
    }
    const queue = createBullQueue({
      redisUrl: redis.url,
      prefix,
      addressOf: (id) => addresses.sign(base, id),
      log,
      sweepEveryMs: 300,
      resignAfterMs: 50,
    });
    open.push(queue);
    return queue;
  }
  async function startWorker() {
    if (engine === 'embedded') return;
    pool = createWorkerPool({ size: 1, entry, recycleAfter: 50 });
    open.push(await startRedisWorker({ redisUrl: redis.url, prefix, pool, sharedFolder: null, log, lockMs: 1000 }));
  }

  it('measures, tells the start, progress and the facts once', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    await startWorker();
    const clip = item('slow 100');
    await queue.enqueue(clip);
    await queue.enqueue(clip);
    await until(() => told.results.length > 0);
    await wait(600);
    expect(told.results).toMatchObject([
      [clip.id, { kind: 'facts', id: clip.id, facts: { clip: { value: { durationS: 100 } } } }],
    ]);
    expect(told.started).toEqual([clip.id]);
    expect(told.progress).toEqual([[clip.id, 0.5]]);
    expect(queue.depth()).toEqual({ waiting: 0, running: 0 });
  });

  it('gives a bad clip back at once, and one that kills its process after the second death', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    await startWorker();
    const bad = item('bad');
    const deadly = item('crash');
    await queue.enqueue(bad);
    await queue.enqueue(deadly);
    await until(() => told.results.length === 2);
    expect(told.results).toMatchObject([
      [bad.id, { kind: 'failed', code: 'clip-not-video' }],
      [deadly.id, { kind: 'failed', code: 'worker-died' }],
    ]);
    expect(told.started.filter((id) => id === deadly.id)).toHaveLength(2);
  });

  it('lets members take turns', async () => {
    const told = recorder();
    const queue = makeQueue();
    if (engine === 'bullmq') await queue.start(told.handlers, signal);
    const many = [1, 2, 3, 4].map(() => item('facts', 'juno'));
    const other = [item('facts', 'tamsin'), item('facts', 'tamsin')];
    for (const clip of [...many, ...other]) await queue.enqueue(clip);
    expect(queue.depth()).toEqual({ waiting: 6, running: 0 });
    expect(other.map((clip) => queue.places().get(clip.id))).toEqual([1, 3]);
    if (engine === 'embedded') await queue.start(told.handlers, signal);
    await startWorker();
    await until(() => told.results.length === 6);
    const [j1, j2, j3, j4] = many.map((clip) => clip.id);
    const [t1, t2] = other.map((clip) => clip.id);
    expect(told.started).toEqual([j1, t1, j2, t2, j3, j4]);
  });

  it('tells a result again until it was taken', async () => {
    const told = recorder();
    let refused = 0;
    const handlers = {
      ...told.handlers,
      async onResult(id: string, answer: FinalAnswer) {
        refused += 1;
        if (refused < 3) throw new Error('database locked');
        await told.handlers.onResult(id, answer);
      },
    };
    const queue = makeQueue();
    await queue.start(handlers, signal);
    await startWorker();
    const clip = item('facts');
    await queue.enqueue(clip);
    await until(() => told.results.length > 0);
    expect([refused, told.results.length]).toEqual([3, 1]);
    expect(told.started).toHaveLength(1);
  });

  it('keeps a result that nobody took for the next start', async () => {
    const queue = makeQueue();
    let offered = 0;
    await queue.start(
      {
        ...recorder().handlers,
        onResult: async () => {
          offered += 1;
          throw new Error('no');
        },
      },
      signal,
    );
    await startWorker();
    const clip = item('facts');
    await queue.enqueue(clip);
    await until(() => offered > 0);
    await queue.stop(0);
    const told = recorder();
    await makeQueue().start(told.handlers, signal);
    await until(() => told.results.length > 0);
    expect(told.results).toMatchObject([[clip.id, { kind: 'facts' }]]);
    expect(told.started).toEqual([]);
  });

  it('goes on after a stop in the middle of a clip', async () => {
    const first = recorder();
    const queue = makeQueue();
    await queue.start(first.handlers, signal);
    await startWorker();
    const clip = item('wait');
    await queue.enqueue(clip);
    await until(() => first.progress.length > 0);
    for (const one of open.reverse()) await one.stop(50);
    open = [];
    await pool.close();
    expect(first.results).toEqual([]);
    writeFileSync(`${clip.file}.go`, '');
    const told = recorder();
    const next = makeQueue();
    await next.start(told.handlers, signal);
    if (engine === 'bullmq') writeFileSync(clip.file, 'facts');
    await startWorker();
    await until(() => told.results.length > 0);
    expect(told.results).toMatchObject([[clip.id, { kind: 'facts' }]]);
  });

  if (engine === 'embedded') {
    it('gives a clip up when the bot died with it five times', async () => {
      const clip = item('facts');
      const task = JSON.stringify({ kind: 'measure', id: clip.id, file: clip.file, limits });
      await ledger.jobs.add({ id: clip.id, member: 'juno', turn: 0, task, deaths: 0, leases: 5, answer: null });
      const told = recorder();
      await makeQueue().start(told.handlers, signal);
      await until(() => told.results.length > 0);
      expect(told.results).toMatchObject([[clip.id, { kind: 'failed', code: 'worker-died' }]]);
      expect(told.started).toEqual([]);
    });
    return;
  }

  it('signs again when an address has expired', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    const clip = item('facts');
    await queue.enqueue(clip);
    nowMs = 3000;
    await startWorker();
    await until(() => told.results.length > 0);
    expect(told.results).toMatchObject([[clip.id, { kind: 'facts' }]]);
  });

  it('signs again for the next try of a clip, and keeps the count of tries', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    await startWorker();
    const clip = item('crash');
    await queue.enqueue(clip);
    await until(() => told.started.length > 0);
    // the second try comes with an address of its own, and may find another clip in the same place
    writeFileSync(clip.file, 'facts');
    await until(() => told.results.length > 0);
    expect(told.results[0]?.[0]).toBe(clip.id);
    const deadly = item('crash');
    await queue.enqueue(deadly);
    await until(() => told.results.length > 1);
    expect(told.results[1]).toMatchObject([deadly.id, { kind: 'failed', code: 'worker-died' }]);
    expect(queue.depth()).toEqual({ waiting: 0, running: 0 });
  });

  it('takes clips while Redis is down, and fills a Redis that comes back empty', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    const before = item('facts');
    await queue.enqueue(before);
    await redis.empty();
    await redis.kill();
    const during = item('facts');
    await queue.enqueue(during);
    await redis.start();
    await startWorker();
    await until(() => told.results.length === 2);
    expect(new Set(told.results.map(([id]) => id))).toEqual(new Set([before.id, during.id]));
  });

  it('measures elsewhere what a killed host had taken', async () => {
    const told = recorder();
    const queue = makeQueue();
    await queue.start(told.handlers, signal);
    const doomed = fork(host, [redis.url, prefix], {
      execArgv: ['--import', 'tsx'],
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    await once(doomed, 'message');
    const clip = item('wait');
    await queue.enqueue(clip);
    await until(() => told.progress.length > 0);
    doomed.kill('SIGKILL');
    writeFileSync(clip.file, 'facts');
    await startWorker();
    await until(() => told.results.length > 0);
    expect(told.results).toMatchObject([[clip.id, { kind: 'facts' }]]);
  });
});

import { constants, createWriteStream } from 'node:fs';
import { access, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type { ReadableStream } from 'node:stream/web';
import { setTimeout as wait } from 'node:timers/promises';
import { type Job, UnrecoverableError, Worker } from 'bullmq';
import { addressUsed, JobData, queueName, unreachable } from './job.ts';
import type { FinalAnswer, QueueLog } from './port.ts';
import { connectRedis } from './redis-connection.ts';
import { newTemporaryFolder } from './temporary-folder.ts';
import type { WorkerPool } from './worker-pool.ts';

export interface RedisWorkerOptions {
  redisUrl: string;
  prefix: string;
  pool: WorkerPool;
  /** Folder shared with the bot, null when clips are fetched by address. */
  sharedFolder: string | null;
  log: QueueLog;
  /** A worker that was not heard of for this long counts as dead, ms. */
  lockMs: number;
  /** Time in which a clip has to come from its address, ms; without, a minute. */
  fetchMs?: number;
}

const mostDeaths = 2; // chosen: once may be chance, such as a host out of memory; twice is the clip
const mostStalls = 4; // hosts that may die under one clip before it is given up; chosen: a rolling restart takes one or two
const progressEveryMs = 500; // chosen: below the second in which the bot looks
const usualFetchMs = 60_000; // chosen: the largest clip, 250 MiB, at 35 Mbit/s

/** Copies the clip of an address to `path`. Throws `clip-unreachable`; an address that is refused is not tried again. */
async function fetchClip(url: string, path: string, maxBytes: number, withinMs: number, ended: AbortSignal): Promise<void> {
  // A timer of its own: a timeout signal inside AbortSignal.any is collected as garbage and never fires (seen on Node 20.20).
  const late = new AbortController();
  const timer = setTimeout(() => late.abort(new Error(`the clip did not come within ${withinMs} ms`)), withinMs);
  const signal = AbortSignal.any([ended, late.signal]);
  try {
    const response = await fetch(url, { signal, redirect: 'error' });
    if (response.status === 410 && (await response.text().catch(() => '')) === 'used') throw new UnrecoverableError(addressUsed);
    if (response.status >= 400 && response.status < 500) throw new UnrecoverableError(`${unreachable}: HTTP ${response.status}`);
    if (!response.ok || response.body === null) throw new Error(`HTTP ${response.status}`);
    let bytes = 0;
    const limit = new Transform({
      transform(chunk: Buffer, _, done) {
        bytes += chunk.length;
        done(bytes > maxBytes ? new Error(`more than ${maxBytes} bytes`) : null, chunk);
      },
    });
    await pipeline(Readable.fromWeb(response.body as ReadableStream), limit, createWriteStream(path), { signal });
  } catch (cause) {
    if (cause instanceof UnrecoverableError) throw cause;
    throw new Error(`${unreachable}: ${String(late.signal.aborted ? late.signal.reason : cause)}`, { cause });
  } finally {
    clearTimeout(timer);
  }
}

/** Takes clips from Redis, measures them with the pool and gives back facts. Holds no chat token. `stop` hands back what is under way. */
export async function startRedisWorker({
  redisUrl,
  prefix,
  pool,
  sharedFolder,
  log,
  lockMs,
  fetchMs = usualFetchMs,
}: RedisWorkerOptions): Promise<{ stop(graceMs: number): Promise<void> }> {
  const redis = connectRedis(redisUrl);
  const folder = newTemporaryFolder('clips');
  const ended = new AbortController();
  let tries = 0;

  async function measure(job: Job<JobData>): Promise<FinalAnswer> {
    const data = JobData.safeParse(job.data);
    if (!data.success) throw new UnrecoverableError(`job outside the contract: ${data.error.issues[0]?.message ?? ''}`);
    const { id, clip, limits, deaths } = data.data;
    if (clip.kind === 'folder' && sharedFolder === null)
      throw new UnrecoverableError(`${unreachable}: this worker shares no folder`);
    tries += 1; // a clip that stalled may be begun again here while its earlier try still reads
    const own = join(folder, `${tries}-${id.replace(/[^\w.-]/g, '_')}`);
    const file = clip.kind === 'folder' ? join(sharedFolder ?? '', clip.name) : own;
    let toldMs = 0;
    let isUsed = false;
    try {
      if (clip.kind === 'address') {
        await fetchClip(clip.url, own, limits.maxBytes, fetchMs, ended.signal);
        isUsed = true;
      } else {
        // A folder that is not mounted here says nothing of the clip.
        await access(file, constants.R_OK).catch((error: unknown) => {
          throw new UnrecoverableError(`${unreachable}: ${error instanceof Error ? error.message : error}`);
        });
      }
      const answer = await pool.run(
        { kind: 'measure', id, file, limits },
        {
          signal: ended.signal,
          onProgress(share, stage) {
            if (performance.now() - toldMs < progressEveryMs) return;
            toldMs = performance.now();
            job.updateProgress({ share, stage }).catch(() => {});
          },
        },
      );
      if (answer.kind === 'failed' && answer.retry && deaths + 1 < mostDeaths) {
        await job.updateData({ ...data.data, deaths: deaths + 1 });
        throw new Error(`${answer.code}: ${answer.detail}`);
      }
      return answer;
    } catch (error) {
      // the next try needs an address of its own
      throw isUsed ? new UnrecoverableError(`${addressUsed}, ${error instanceof Error ? error.message : error}`) : error;
    } finally {
      await rm(own, { force: true });
    }
  }

  const worker = new Worker<JobData, FinalAnswer>(queueName, measure, {
    connection: redis,
    prefix,
    concurrency: pool.size,
    lockDuration: lockMs,
    stalledInterval: lockMs,
    maxStalledCount: mostStalls,
  });
  const onError = (error: Error) => log.warn({ error: error.message }, 'Redis');
  redis.on('error', onError);
  worker.on('error', onError);
  worker.on('failed', (job, error) => log.warn({ id: job?.id, error: error.message }, 'a try at a clip failed'));

  return {
    async stop(graceMs) {
      const over = new AbortController();
      const closing = worker.close();
      await Promise.race([closing, wait(graceMs, undefined, { signal: over.signal })]);
      over.abort();
      ended.abort(new Error('the worker stops'));
      await Promise.race([closing, wait(1000)]);
      redis.disconnect();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

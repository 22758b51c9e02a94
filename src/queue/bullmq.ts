import { setMaxListeners } from 'node:events';
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { Queue as BullQueue, type Job, type JobType, QueueEvents } from 'bullmq';
import { deliver } from './deliver.ts';
import { createFairOrder } from './fair-order.ts';
import { addressUsed, type JobData, queueName, unreachable } from './job.ts';
import { Answer } from './payload.ts';
import type { FinalAnswer, Queue, QueueHandlers, QueueItem, QueueLog } from './port.ts';
import { connectRedis } from './redis-connection.ts';

export interface BullQueueOptions {
  redisUrl: string;
  /** Begins all keys in Redis; bots that share a Redis need one each. */
  prefix: string;
  /** A fresh signed address of a clip, or null when workers share the spool folder. */
  addressOf: ((id: string) => string) | null;
  log: QueueLog;
  /** How often results are looked for and lost jobs put in again, ms; events tell earlier. */
  sweepEveryMs: number;
  /** Wait before a clip whose address did not work is offered again, ms. */
  resignAfterMs: number;
  /** A connection on which Redis owes an answer for this long is made anew, ms; without, half a minute. */
  replyWithinMs?: number | undefined;
}

const highestPriority = 2_097_152; // BullMQ docs, prioritized jobs
const tries = 10; // chosen: with the doubled waits below eight and a half minutes
/** Times that one clip may be fetched without an answer, or looked for when it is gone (chosen): dying hosts take their count of tries along. */
const mostFetches = 8;
const countsAsFetch = new RegExp(`^${addressUsed}|HTTP 404`);
const mostTaken = 100; // results that a sweep takes beside each other; chosen: many times what a database does at once
/** Where a job can stand in Redis (BullMQ docs, job states); looked at together, so that none is missed on its way from one to the next. */
const states: JobType[] = ['wait', 'prioritized', 'delayed', 'active', 'completed', 'failed'];
const longestStartMs = 3000; // without Redis the bot starts all the same; chosen
const longestStopMs = 2000; // chosen: `close` of BullMQ has no limit of its own, and what is lost is found at the next start

/** The queue on Redis. Results stay in Redis until the handler took them; a Redis that comes back empty is filled again. */
export function createBullQueue(options: BullQueueOptions): Queue {
  const { redisUrl, prefix, addressOf, log, sweepEveryMs, resignAfterMs, replyWithinMs } = options;
  const redis = connectRedis(redisUrl, { replyWithinMs, keeps: false });
  const eventRedis = connectRedis(redisUrl, { replyWithinMs });
  const queue = new BullQueue<JobData>(queueName, { connection: redis, prefix });
  const events = new QueueEvents(queueName, { connection: eventRedis, prefix });
  let unreachableSince: string | null = null;
  const onError = (error: Error) => {
    if (unreachableSince !== error.message) log.warn({ error: error.message }, 'Redis');
    unreachableSince = error.message;
  };
  redis.on('error', onError);
  eventRedis.on('error', onError);
  queue.on('error', onError);
  events.on('error', onError);
  redis.on('ready', () => {
    unreachableSince = null;
  });

  const order = createFairOrder();
  const outstanding = new Map<string, { item: QueueItem; turn: number }>();
  const fetches = new Map<string, number>();
  const delivering = new Map<string, Promise<void>>();
  const ended = new AbortController();
  setMaxListeners(0, ended.signal); // each result that is told again listens to it
  let handlers: QueueHandlers | null = null;
  let sweeping: Promise<void> | null = null;
  let timer: NodeJS.Timeout | null = null;

  /** `clip` is not used where clips go by address: each putting in signs one. */
  async function add(job: JobData, priority: number, delay = 0): Promise<void> {
    if (redis.status !== 'ready') throw new Error('Redis is away'); // else BullMQ waits, and the bot with it
    const clip: JobData['clip'] = addressOf === null ? job.clip : { kind: 'address', url: addressOf(job.id) };
    await queue.add(
      'measure',
      { ...job, clip },
      {
        jobId: job.id,
        priority,
        attempts: tries,
        backoff: { type: 'exponential', delay: 1000 },
        removeOnComplete: false,
        removeOnFail: false,
        delay,
      },
    );
  }

  function put({ item, turn }: { item: QueueItem; turn: number }): Promise<void> {
    const clip: JobData['clip'] = { kind: 'folder', name: basename(item.file) };
    return add({ id: item.id, clip, limits: item.limits, deaths: 0 }, Math.min(turn + 1, highestPriority));
  }

  /** Whether a clip that a worker could not get may be put in again; it is then. Jobs of an earlier run of the bot count too. */
  async function putAgain(job: Job<JobData>, reason: string): Promise<boolean> {
    const id = job.data.id;
    const isGone = addressOf === null && !existsSync(outstanding.get(id)?.item.file ?? '');
    const count = (fetches.get(id) ?? 0) + (isGone || countsAsFetch.test(reason) ? 1 : 0);
    fetches.set(id, count);
    if (count >= mostFetches) return false;
    log.warn({ id, reason }, 'a worker could not get a clip, it is put in again');
    await job.remove();
    order.putBack(id);
    await add(job.data, job.opts.priority ?? highestPriority, resignAfterMs);
    return true;
  }

  /** A job that was tried again keeps the reason of the earlier try, so the result comes first. */
  function answerOf(job: Job<JobData>): FinalAnswer {
    const parsed = Answer.safeParse(job.returnvalue);
    if (parsed.success && parsed.data.kind !== 'progress' && parsed.data.id === job.id) return parsed.data;
    return {
      kind: 'failed',
      id: job.id ?? '',
      code: 'worker-died',
      detail: job.failedReason ?? 'answer outside the contract',
      retry: true,
    };
  }

  async function take(job: Job<JobData>, to: QueueHandlers): Promise<void> {
    const id = job.id ?? '';
    const answer = answerOf(job);
    const isUnreachable = answer.kind === 'failed' && answer.detail.startsWith(unreachable);
    if (isUnreachable && (await putAgain(job, answer.detail))) return;
    await deliver(to, id, answer, log, ended.signal);
    outstanding.delete(id);
    fetches.delete(id);
    order.end(id);
    await job.remove();
  }

  /** Takes a result as it is now: whoever names it may have seen the job before it was put in again. */
  async function takeIfFinished(id: string, to: QueueHandlers): Promise<void> {
    try {
      const job = await queue.getJob(id);
      if (job?.finishedOn !== undefined) await take(job, to);
    } catch (error) {
      if (!ended.signal.aborted) log.warn({ id, error: String(error) }, 'a result waits for the next sweep');
    } finally {
      delivering.delete(id);
    }
  }

  function finished(id: string): void {
    if (handlers !== null && !delivering.has(id)) delivering.set(id, takeIfFinished(id, handlers));
  }

  /** Waits for no result to be taken: one that cannot be kept must not keep the others from being found. */
  async function sweepOnce(): Promise<void> {
    const results = (await queue.getRanges(['completed', 'failed'], 0, -1, true)).filter((id) => !delivering.has(id));
    for (const id of results.slice(0, Math.max(0, mostTaken - delivering.size))) finished(id);
    const present = new Set(await queue.getRanges(states, 0, -1));
    for (const [id, mine] of [...outstanding]) {
      if (present.has(id) || (await queue.getJobState(id)) !== 'unknown') continue; // the latter: it was just put in
      if (delivering.has(id) || outstanding.get(id) !== mine) continue; // asked after the state, for its result may be taken meanwhile
      await queue.remove(id); // of a job that stands nowhere the rest would refuse the new one
      await put(mine);
    }
  }

  function sweep(): Promise<void> {
    if (handlers === null || ended.signal.aborted) return Promise.resolve();
    sweeping ??= sweepOnce()
      .catch((error: unknown) => {
        if (!ended.signal.aborted) log.warn({ error: String(error) }, 'Redis could not be swept');
      })
      .finally(() => {
        sweeping = null;
      });
    return sweeping;
  }

  return {
    async start(to, signal) {
      signal.throwIfAborted();
      signal.addEventListener('abort', () => ended.abort(signal.reason), { once: true });
      handlers = to;
      events.on('active', ({ jobId }) => {
        order.begin(jobId);
        to.onStarted(jobId);
      });
      events.on('waiting', ({ jobId }) => order.putBack(jobId));
      events.on('progress', ({ jobId, data }) => {
        if (typeof data !== 'object' || !('share' in data) || !('stage' in data)) return;
        to.onProgress(jobId, Number(data.share), String(data.stage));
      });
      events.on('completed', ({ jobId }) => finished(jobId));
      events.on('failed', ({ jobId }) => finished(jobId));
      await Promise.race([events.waitUntilReady(), wait(longestStartMs, undefined, { signal })]).catch(() => {});
      timer = setInterval(() => void sweep(), sweepEveryMs);
      redis.on('ready', () => void sweep());
      void sweep();
    },
    async enqueue(item) {
      if (outstanding.has(item.id)) return;
      const mine = { item, turn: order.add(item.id, item.member) };
      outstanding.set(item.id, mine);
      await put(mine).catch((error: unknown) =>
        log.warn({ id: item.id, error: String(error) }, 'Redis does not take the clip, it is offered again'),
      );
    },
    places: () => order.places(),
    depth: () => order.depth(),
    async stop() {
      if (timer !== null) clearInterval(timer);
      ended.abort(new Error('the queue stops'));
      handlers = null;
      // a job that is being put in again stands nowhere for a moment
      const closing = Promise.allSettled(delivering.values()).then(() => Promise.allSettled([events.close(), queue.close()]));
      await Promise.race([closing, wait(longestStopMs)]); // they wait for a Redis that was never there
      redis.disconnect();
      eventRedis.disconnect();
    },
  };
}

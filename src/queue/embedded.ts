import { setTimeout as wait } from 'node:timers/promises';
import { deliver } from './deliver.ts';
import { createFairOrder } from './fair-order.ts';
import { Answer, Task } from './payload.ts';
import type { FinalAnswer, Queue, QueueHandlers, QueueLog } from './port.ts';
import type { WorkerPool } from './worker-pool.ts';

/** One job as the ledger keeps it: `deaths` are failed tries, `leases` are tries begun; `task` and `answer` are JSON. */
interface StoredJob {
  id: string;
  member: string;
  turn: number;
  task: string;
  deaths: number;
  leases: number;
  answer: string | null;
}

/** The job table, as much of the ledger as the queue needs. */
interface JobStore {
  all(): Promise<StoredJob[]>;
  /** False when a job of that id is there. */
  add(job: StoredJob): Promise<boolean>;
  change(id: string, change: Partial<Pick<StoredJob, 'deaths' | 'leases' | 'answer'>>): Promise<void>;
  remove(id: string): Promise<void>;
}

export interface EmbeddedQueueOptions {
  store: JobStore;
  pool: WorkerPool;
  log: QueueLog;
  /** Wait before a failed try is repeated, ms. */
  retryAfterMs: number;
}

const mostDeaths = 2; // chosen: once may be chance, twice is the clip
const mostLeases = 5; // a clip that was under way each time the whole bot died

/** The queue inside the bot's process: jobs in the ledger, measured by the pool's processes. */
export function createEmbeddedQueue({ store, pool, log, retryAfterMs }: EmbeddedQueueOptions): Queue {
  const order = createFairOrder();
  const jobs = new Map<string, StoredJob>();
  const runs = new Set<Promise<void>>();
  const ended = new AbortController();
  let handlers: QueueHandlers | null = null;
  let stopping = false;

  /** The final answer, or null when the clip has to be tried again. */
  async function attempt(job: StoredJob, to: QueueHandlers): Promise<FinalAnswer | null> {
    if (job.answer !== null) return Answer.parse(JSON.parse(job.answer)) as FinalAnswer;
    if (job.leases >= mostLeases)
      return { kind: 'failed', id: job.id, code: 'worker-died', detail: `begun ${job.leases} times, never ended`, retry: true };
    await store.change(job.id, { leases: job.leases + 1 });
    job.leases += 1;
    to.onStarted(job.id);
    const answer = await pool.run(Task.parse(JSON.parse(job.task)), {
      signal: ended.signal,
      onProgress: (share, stage) => to.onProgress(job.id, share, stage),
    });
    if (answer.kind === 'failed' && answer.retry) {
      await store.change(job.id, { deaths: job.deaths + 1 });
      job.deaths += 1;
      log.warn({ id: job.id, code: answer.code, detail: answer.detail, deaths: job.deaths }, 'a clip failed and may pass');
      if (job.deaths < mostDeaths) return null;
    }
    job.answer = JSON.stringify(answer); // kept here too, so that a ledger that is away does not cost it
    await store.change(job.id, { answer: job.answer });
    return answer;
  }

  async function run(job: StoredJob, to: QueueHandlers): Promise<void> {
    try {
      const answer = await attempt(job, to);
      if (answer === null) {
        await wait(retryAfterMs, undefined, { signal: ended.signal });
        order.putBack(job.id);
        return;
      }
      await deliver(to, job.id, answer, log, ended.signal);
      await store.remove(job.id);
      order.end(job.id);
      jobs.delete(job.id);
    } catch (error) {
      // An end, a full disk or a database that is away is no fault of the clip: the try does not count.
      const isOfHost = ended.signal.aborted || (error instanceof Error && 'code' in error);
      if (isOfHost && job.answer === null && job.leases > 0) {
        const back = store.change(job.id, { leases: job.leases - 1 });
        if (await back.then(() => true).catch(() => false)) job.leases -= 1;
      }
      order.putBack(job.id);
      if (ended.signal.aborted) return;
      log.warn({ id: job.id, error: String(error) }, 'a job could not be worked on');
      await wait(retryAfterMs, undefined, { signal: ended.signal }).catch(() => {});
    }
  }

  function pump(): void {
    while (handlers !== null && !stopping && runs.size < pool.size) {
      const job = jobs.get(order.next() ?? '');
      if (job === undefined) return;
      order.begin(job.id);
      const one: Promise<void> = run(job, handlers).finally(() => {
        runs.delete(one);
        pump();
      });
      runs.add(one);
    }
  }

  return {
    async start(to, signal) {
      for (const job of await store.all()) {
        jobs.set(job.id, job);
        order.add(job.id, job.member, job.turn);
      }
      signal.throwIfAborted();
      signal.addEventListener('abort', () => ended.abort(signal.reason), { once: true });
      handlers = to;
      pump();
    },
    async enqueue({ id, member, file, limits }) {
      if (order.has(id)) return;
      const task: Task = { kind: 'measure', id, file, limits };
      const job = { id, member, turn: order.add(id, member), task: JSON.stringify(task), deaths: 0, leases: 0, answer: null };
      try {
        await store.add(job);
      } catch (error) {
        order.end(id);
        throw error;
      }
      jobs.set(id, job);
      pump();
    },
    places: () => order.places(),
    depth: () => order.depth(),
    async stop(graceMs) {
      stopping = true;
      const grace = new AbortController();
      await Promise.race([Promise.allSettled([...runs]), wait(graceMs, undefined, { signal: grace.signal })]);
      grace.abort();
      ended.abort(new Error('the queue stops'));
      await Promise.allSettled([...runs]);
    },
  };
}

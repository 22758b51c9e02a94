import { availableParallelism } from 'node:os';
import { projectPath, workerVariables } from '../main/project.ts';
import { Refused, runProcess } from '../main/run.ts';
import { measuringRows, nodeRow } from '../preflight/host.ts';
import { redisRow } from '../preflight/services.ts';
import { startRedisWorker } from '../queue/redis-worker.ts';
import { createWorkerPool } from '../queue/worker-pool.ts';

const lockMs = 30_000; // BullMQ's default (from memory); the measuring itself is in other processes and cannot hold it up
const graceMs = 15_000; // chosen: most clips end within it, the others are measured again elsewhere

/** Measures clips of a bot that is elsewhere: needs REDIS_URL, holds no chat token. */
await runProcess('the worker', async ({ environment, settings }, log) => {
  const { redisUrl, spoolFolder, production } = environment;
  if (redisUrl === null)
    throw new Error('REDIS_URL is not set: a worker needs the Redis of its bot (npm start alone needs none)');
  const { prefix, clipsBy, processes, recycleAfter } = settings.queue;
  if (clipsBy === 'folder' && spoolFolder === null)
    throw new Error('SPOOL_FOLDER is not set, and queue.clipsBy is folder: name the folder of clips that the bot shares');
  const env = workerVariables(environment);
  const rows = [
    nodeRow(process.versions.node),
    ...(await measuringRows(projectPath('workers/self-check.ts'), { PATH: process.env.PATH ?? '', ...env })),
    await redisRow(redisUrl),
  ];
  for (const { what, ok, must, found, fix } of rows)
    log[ok ? 'info' : must ? 'error' : 'warn']({ what, found, fix }, 'preflight');
  const missing = rows.filter(({ ok, must }) => must && !ok);
  if (production && missing.length > 0) {
    for (const { what, found, fix } of missing) console.error(`the worker cannot start: ${what}: ${found}. ${fix}`);
    throw new Refused();
  }
  const size = processes ?? availableParallelism();
  const pool = createWorkerPool({ size, recycleAfter, env, entry: projectPath('workers/measure-clip.ts') });
  const worker = await startRedisWorker({
    redisUrl,
    prefix,
    pool,
    log,
    lockMs,
    sharedFolder: clipsBy === 'folder' ? spoolFolder : null,
  });
  log.info({ processes: size }, 'the worker waits for clips');
  return {
    async stop() {
      await worker.stop(graceMs);
      await pool.close();
    },
  };
});

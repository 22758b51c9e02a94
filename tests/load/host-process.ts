/** A worker host that measures for real, one clip at a time. Arguments: address of Redis, prefix. */
import { projectPath } from '../../src/cli/measured-clips.ts';
import { startRedisWorker } from '../../src/queue/redis-worker.ts';
import { createWorkerPool } from '../../src/queue/worker-pool.ts';

const [redisUrl = '', prefix = ''] = process.argv.slice(2);
const pool = createWorkerPool({ size: 1, entry: projectPath('workers/measure-clip.ts'), recycleAfter: 100 });
const log = { info() {}, warn: (details: object, text: string) => console.error(text, JSON.stringify(details)) };
await startRedisWorker({ redisUrl, prefix, pool, sharedFolder: null, log, lockMs: 60_000 });

import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { Redis } from 'ioredis';
import { freePort } from '../free-port.ts';

/** Debian's redis-server on a port and folder of its own, with an append-only file, so that it comes back after `kill`. */
export async function startRedis(): Promise<{
  url: string;
  kill(): Promise<void>;
  start(): Promise<void>;
  empty(): Promise<void>;
  stop(): Promise<void>;
}> {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-redis-'));
  const port = await freePort();
  const url = `redis://127.0.0.1:${port}`;
  let server: ChildProcess | null = null;
  const kill = async () => {
    if (server === null || server.exitCode !== null) return;
    server.kill('SIGKILL');
    await once(server, 'exit');
    server = null;
  };
  const ask = async (name: 'ping' | 'flushall') => {
    const client = new Redis(url, { lazyConnect: true, retryStrategy: () => null, maxRetriesPerRequest: 0 });
    client.on('error', () => {});
    try {
      await client.connect();
      await (name === 'ping' ? client.ping() : client.flushall());
    } finally {
      client.disconnect();
    }
  };
  const start = async () => {
    const settings = [
      '--port',
      `${port}`,
      '--bind',
      '127.0.0.1',
      '--dir',
      folder,
      '--appendonly',
      'yes',
      '--appendfsync',
      'always',
      '--save',
      '',
    ];
    server = spawn('redis-server', [...settings, '--maxmemory-policy', 'noeviction'], { stdio: 'ignore' });
    for (let left = 100; ; left -= 1) {
      try {
        return await ask('ping');
      } catch (error) {
        if (left === 0) throw error;
        await wait(50);
      }
    }
  };
  await start();
  return {
    url,
    kill,
    start,
    empty: () => ask('flushall'),
    async stop() {
      await kill();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

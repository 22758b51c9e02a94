import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { freePort } from '../free-port.ts';
import { startRedis } from '../queue/real-redis.ts';
import type { Programs } from './bundle.ts';

/** A place for runs one after the other, with a Redis and a worker host of its own where they are needed. */
export interface Lane {
  folder: string;
  redisUrl: string | null;
  clipPort: number;
  prefix: string;
  /** Makes everything new for the next run. */
  empty(): Promise<void>;
  killHost(downMs: number): Promise<void>;
  killRedis(downMs: number, loseAll: boolean): Promise<void>;
  /** Process id of the worker host, null without one. */
  hostPid(): number | null;
  /** How hosts ended by themselves since the last `empty`, with the end of what they said. */
  hostEnds(): readonly string[];
  close(): Promise<void>;
}

const keptErrorChars = 2000; // chosen: the end of a stack trace

/** Ends a process and waits until it is gone. */
export async function end(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const exit = once(child, 'exit');
  child.kill('SIGKILL');
  await exit;
}

/** Direct children of a process (Linux). */
export function childrenOf(pid: number): number[] {
  try {
    const text = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').trim();
    return text === '' ? [] : text.split(' ').map(Number);
  } catch {
    return [];
  }
}

export async function openLane(programs: Programs, queue: 'embedded' | 'redis'): Promise<Lane> {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-faults-'));
  const data = join(folder, 'data');
  const redis = queue === 'redis' ? await startRedis() : null;
  const prefix = 'millrace';
  let host: ChildProcess | null = null;
  let hostEnds: string[] = [];
  const startHost = () => {
    if (redis === null) return;
    const given = [redis.url, prefix, join(data, 'spool'), programs.measuring];
    const own = fork(programs.host, given, { execArgv: [], stdio: ['ignore', 'ignore', 'pipe', 'ipc'] });
    let said = '';
    own.stderr?.setEncoding('utf8').on('data', (text: string) => {
      said = (said + text).slice(-keptErrorChars);
    });
    own.once('close', (code) => {
      if (code !== null) hostEnds.push(`a host ended by itself (${code}): ${said.trim()}`);
    });
    host = own;
  };
  startHost();
  // One after the other: two that started a server at once would leave one that nobody ends.
  let striking = Promise.resolve();
  const inTurn = (strike: () => Promise<void>) => {
    striking = striking.then(strike);
    return striking;
  };
  return {
    folder: data,
    redisUrl: redis?.url ?? null,
    clipPort: await freePort(),
    prefix,
    hostPid: () => host?.pid ?? null,
    hostEnds: () => hostEnds,
    async empty() {
      hostEnds = [];
      rmSync(data, { recursive: true, force: true });
      mkdirSync(data, { recursive: true });
      await redis?.empty();
    },
    killHost: (downMs) =>
      inTurn(async () => {
        if (host !== null) await end(host);
        await wait(downMs);
        startHost();
      }),
    killRedis: (downMs, loseAll) =>
      inTurn(async () => {
        await redis?.kill();
        await wait(downMs);
        await redis?.start();
        if (loseAll) await redis?.empty();
      }),
    async close() {
      if (host !== null) await end(host);
      await redis?.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

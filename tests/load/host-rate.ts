import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { once } from 'node:events';
import type { IncomingMessage } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { Hono } from 'hono';
import { measuringPool, projectPath } from '../../src/cli/measured-clips.ts';
import { serveOperator } from '../../src/main/operator.ts';
import { createBullQueue } from '../../src/queue/bullmq.ts';
import { clipRoutes } from '../../src/queue/clip-routes.ts';
import { cpuSecondsOf } from '../../src/queue/process-cpu.ts';
import { createClipAddresses } from '../../src/queue/signed-address.ts';
import { freePort } from '../free-port.ts';

/** How fast hosts of their own measure. */
export interface HostRate {
  hosts: number;
  clips: number;
  wallS: number;
  /** CPU of the hosts and their measuring processes. */
  cpuS: number;
  /** Addresses from which clips were fetched. */
  addresses: string[];
}

const bridge = 'qvload0';
const botAddress = '10.77.0.1'; // a private network of our own, gone at the end

function ip(...given: string[]): void {
  execFileSync('ip', given, { stdio: ['ignore', 'ignore', 'pipe'] });
}

/** A bridge with one network namespace for each host, each with an address of its own. Needs root on Linux. */
function openNetwork(hosts: number): { names: string[]; close(): void } {
  const names = Array.from({ length: hosts }, (_, i) => `qvload-host${i + 1}`);
  const close = () => {
    for (const undo of [...names.map((name) => ['netns', 'del', name]), ['link', 'del', bridge]]) {
      try {
        ip(...undo);
      } catch {
        // Was not made.
      }
    }
  };
  close();
  try {
    ip('link', 'add', bridge, 'type', 'bridge');
    ip('addr', 'add', `${botAddress}/24`, 'dev', bridge);
    ip('link', 'set', bridge, 'up');
    for (const [i, name] of names.entries()) {
      ip('netns', 'add', name);
      ip('link', 'add', `qvload-v${i}`, 'type', 'veth', 'peer', 'name', 'eth0', 'netns', name);
      ip('link', 'set', `qvload-v${i}`, 'master', bridge, 'up');
      ip('-n', name, 'addr', 'add', `10.77.0.${10 + i}/24`, 'dev', 'eth0');
      ip('-n', name, 'link', 'set', 'eth0', 'up');
      ip('-n', name, 'link', 'set', 'lo', 'up');
    }
  } catch (error) {
    close();
    throw error;
  }
  return { names, close };
}

/**
 * Measures the project's sample clip `clipsEach` times for each of `hosts` worker hosts, after one clip each that loads the models. Every
 * host is a network namespace with an address of its own and one core of the machine, holds one measuring process, takes clips from a
 * Redis on the bot's address and fetches them from there by signed addresses. Throws when a clip cannot be measured.
 */
export async function hostRate(hosts: number, clipsEach: number): Promise<HostRate> {
  const network = openNetwork(hosts);
  const children: ChildProcess[] = [];
  const fetchedFrom = new Set<string>();
  const closing: (() => unknown)[] = [];
  try {
    const port = await freePort();
    const redisUrl = `redis://${botAddress}:${port}`;
    const options = ['--port', `${port}`, '--bind', botAddress, '--protected-mode', 'no', '--save', ''];
    const redis = spawn('redis-server', [...options, '--maxmemory-policy', 'noeviction'], { stdio: 'ignore' });
    children.push(redis);
    const addresses = createClipAddresses({
      ...{ secret: randomUUID(), expiresAfterMs: 3_600_000, run: 'load', nowMs: Date.now },
    });
    const app = new Hono<{ Bindings: { incoming: IncomingMessage } }>();
    app.use(async (c, next) => {
      fetchedFrom.add(c.env.incoming.socket.remoteAddress ?? '');
      await next();
    });
    const sample = projectPath('samples/squat-side.mp4');
    app.route('/', clipRoutes({ addresses, fileOf: async () => sample }));
    const server = await serveOperator(app as unknown as Hono, botAddress, 0);
    closing.push(() => server.close());
    const log = { info() {}, warn: (details: object, text: string) => console.error(text, JSON.stringify(details)) };
    const queue = createBullQueue({
      ...{ redisUrl, prefix: 'load', log, sweepEveryMs: 500, resignAfterMs: 200 },
      addressOf: (id) => addresses.sign(server.url, id),
    });
    closing.push(() => queue.stop(0));
    const { pool, limits } = measuringPool(1);
    await pool.close();
    let done = 0;
    const faults: string[] = [];
    await queue.start(
      {
        onStarted() {},
        onProgress() {},
        async onResult(id, answer) {
          done += 1;
          if (answer.kind !== 'facts' || !answer.facts.reps.known) faults.push(`${id}: ${JSON.stringify(answer)}`);
        },
      },
      new AbortController().signal,
    );
    const program = fileURLToPath(new URL('./host-process.ts', import.meta.url));
    const given = ['--import', 'tsx', program, redisUrl, 'load'];
    for (const [core, name] of network.names.entries()) {
      const host = ['netns', 'exec', name, 'taskset', '--cpu-list', `${core}`, process.execPath, ...given];
      children.push(spawn('ip', host, { cwd: projectPath(''), stdio: ['ignore', 'ignore', 'inherit'] }));
    }
    let sent = 0;
    const measure = async (count: number) => {
      const until = done + count;
      for (let i = 0; i < count; i += 1, sent += 1) {
        const member = `member-${sent % 8}`;
        await queue.enqueue({ id: `clip-${sent}`, member, file: sample, limits });
      }
      while (done < until) {
        if (faults.length > 0) throw new Error(`the sample clip was not measured: ${faults[0]}`);
        await wait(20);
      }
    };
    while (fetchedFrom.size < hosts) await measure(hosts);
    const pids = children.slice(1).map(({ pid }) => pid ?? 0);
    const cpu = () => pids.reduce((sum, pid) => sum + cpuSecondsOf(pid), 0);
    const [startMs, startCpuS] = [performance.now(), cpu()];
    await measure(clipsEach * hosts);
    const wallS = (performance.now() - startMs) / 1000;
    return { hosts, clips: clipsEach * hosts, wallS, cpuS: cpu() - startCpuS, addresses: [...fetchedFrom].sort() };
  } finally {
    for (const close of closing.reverse()) await close();
    for (const child of children.reverse()) {
      if (child.exitCode !== null || child.signalCode !== null) continue;
      const exit = once(child, 'exit');
      child.kill('SIGTERM');
      await exit;
    }
    network.close();
  }
}

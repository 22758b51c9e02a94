import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Confinement, leastRights } from '../../src/queue/confinement.ts';
import type { Task } from '../../src/queue/payload.ts';
import { createWorkerPool } from '../../src/queue/worker-pool.ts';

const entry = fileURLToPath(new URL('./fixtures/worker.ts', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-pool-'));
const pool = createWorkerPool({ size: 2, entry, recycleAfter: 3 });
afterAll(async () => {
  await pool.close();
  rmSync(folder, { recursive: true });
});

let n = 0;
const signal = new AbortController().signal;
function task(text: string, limits: Partial<Task['limits']> = {}): Task {
  n += 1;
  const file = join(folder, `${n}.mp4`);
  writeFileSync(file, text);
  return {
    kind: 'measure',
    id: `clip-${n}`,
    file,
    limits: { maxBytes: 1e6, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000, ...limits },
  };
}
const alive = (pid: number) => {
  try {
    process.kill(pid, 0);
    return !/^State:\s+Z/m.test(readFileSync(`/proc/${pid}/status`, 'utf8'));
  } catch {
    return false;
  }
};

describe('worker pool', () => {
  it('answers with facts and passes progress on', async () => {
    const seen: [number, string][] = [];
    const asked = task('slow 50');
    const answer = await pool.run(asked, { signal, onProgress: (share, stage) => seen.push([share, stage]) });
    expect(answer).toMatchObject({ kind: 'facts', id: asked.id });
    expect(seen).toEqual([[0.5, 'pose']]);
  });

  it('passes a bad clip on as it is', async () => {
    expect(await pool.run(task('bad'), { signal })).toMatchObject({ kind: 'failed', code: 'clip-not-video', retry: false });
  });

  it.each([
    ['crash', {}, 'worker-died', true],
    ['lie', {}, 'worker-died', true],
    ['hang', { timeoutS: 2 }, 'clip-took-too-long', false],
    ['eat', { maxMemoryMb: 400 }, 'clip-took-too-much-memory', false],
    ['flood', {}, 'worker-died', true],
  ] as const)('%s: says what happened and goes on with a new process', async (text, limits, code, retry) => {
    expect(await pool.run(task(text, limits), { signal })).toMatchObject({ kind: 'failed', code, retry });
    expect(await pool.run(task('facts'), { signal })).toMatchObject({ kind: 'facts' });
  });

  it('runs no more than its size at once, and the rest in order', async () => {
    const asked = [task('wait'), task('wait'), task('wait'), task('wait')];
    const begun: string[] = [];
    const ended: string[] = [];
    const runs = asked.map(async (one) => {
      await pool.run(one, { signal, onProgress: () => begun.push(one.id) });
      ended.push(one.id);
    });
    const release = async (i: number, beginsNext: number) => {
      writeFileSync(`${asked[i]?.file}.go`, '');
      while (ended.length < i + 1 || begun.length < beginsNext) await wait(10);
    };
    while (begun.length < 2) await wait(10);
    await wait(100);
    expect(new Set(begun)).toEqual(new Set([asked[0]?.id, asked[1]?.id]));
    await release(0, 3);
    expect(begun[2]).toBe(asked[2]?.id);
    await release(1, 4);
    for (const one of asked) writeFileSync(`${one.file}.go`, '');
    await Promise.all(runs);
  });

  it('ends a process after its number of tasks', async () => {
    const one = createWorkerPool({ size: 1, entry, recycleAfter: 2 });
    const pids: number[] = [];
    for (let i = 0; i < 5; i += 1) {
      const answer = await one.run(task('facts'), { signal });
      pids.push(answer.kind === 'facts' ? answer.timings.pid! : -1);
    }
    await one.close();
    expect(pids[0]).toBe(pids[1]);
    expect(pids[2]).toBe(pids[3]);
    expect(new Set(pids).size).toBe(3);
  });

  it('kills what the process started, removes its folder, and rejects when aborted', async () => {
    const asked = task('child');
    const stop = new AbortController();
    const run = pool.run(asked, { signal: stop.signal });
    while (!existsSync(`${asked.file}.pid`)) await wait(20);
    await wait(20);
    const [pid, own] = readFileSync(`${asked.file}.pid`, 'utf8').split(' ');
    expect(own).toContain('quarterview-worker-');
    stop.abort(new Error('stopped'));
    await expect(run).rejects.toThrow('stopped');
    for (let i = 0; i < 100 && (alive(Number(pid)) || existsSync(own!)); i += 1) await wait(20);
    expect(alive(Number(pid))).toBe(false);
    expect(existsSync(own!)).toBe(false);
  });

  it('gives the process none of our environment', async () => {
    process.env.QUARTERVIEW_TEST_TOKEN = 'secret';
    const fresh = createWorkerPool({ size: 1, entry, recycleAfter: 9 });
    const asked = task('env');
    await fresh.run(asked, { signal });
    await fresh.close();
    delete process.env.QUARTERVIEW_TEST_TOKEN;
    const names = Object.keys(JSON.parse(readFileSync(`${asked.file}.env`, 'utf8')));
    expect(names).toContain('PATH');
    expect(names).not.toContain('QUARTERVIEW_TEST_TOKEN');
    expect(names).not.toContain('HOME');
  });

  it('ends a clip that uses up its CPU time before the time on the clock', async () => {
    const one = createWorkerPool({ size: 1, entry, recycleAfter: 9, busyCores: 0.02 });
    const answer = await one.run(task('hang', { timeoutS: 50 }), { signal });
    await one.close();
    expect(answer).toMatchObject({ kind: 'failed', code: 'clip-took-too-long', detail: 'over 1 s of CPU time' });
  });

  it('empties the folder of the process after each clip', async () => {
    const one = createWorkerPool({ size: 1, entry, recycleAfter: 9 });
    const asked = [task('litter'), task('litter')];
    for (const each of asked) await one.run(each, { signal });
    await one.close();
    expect(asked.map(({ file }) => readFileSync(`${file}.seen`, 'utf8'))).toEqual(asked.map(({ id }) => `${id}.left`));
  });
});

/** What this system lets an ordinary process do, asked of its own programs. */
const can = (...command: [string, ...string[]]) => spawnSync(command[0], command.slice(1)).status === 0;

describe('confinement', () => {
  const unconfined: Confinement = { around: (command) => [...command] };
  const trap = createServer((socket) => void socket.on('error', () => {}).end());
  let port = 0;
  beforeAll(async () => {
    trap.listen(0, '127.0.0.1');
    await once(trap, 'listening');
    port = (trap.address() as AddressInfo).port;
  });
  afterAll(() => trap.close());

  async function told(word: string, confinement: Confinement, ending: string): Promise<string> {
    const one = createWorkerPool({ size: 1, entry, recycleAfter: 9, confinement });
    const asked = task(word);
    await one.run(asked, { signal });
    await one.close();
    return readFileSync(`${asked.file}.${ending}`, 'utf8');
  }

  it('takes the network away where the system allows it', async () => {
    const isAway = can('unshare', '--user', '--net', '--', 'true') || can('unshare', '--net', '--', 'true');
    expect(await told(`reach ${port}`, unconfined, 'reach')).toBe('reached');
    const confined = await told(`reach ${port}`, leastRights, 'reach');
    if (isAway) expect(confined).toMatch(/ENETUNREACH/);
    else expect(confined).toBe('reached');
  });

  it.runIf(process.platform === 'linux')('limits memory, files and rights, and is the first to go', async () => {
    const rights = await told('rights', leastRights, 'rights');
    const limit = (name: string) => new RegExp(`^${name} +(\\S+) +(\\S+)`, 'm').exec(rights)?.slice(1).map(Number);
    // a task of this file has 2000 MB, and the kernel's wall stands 512 MB behind; proc(5) counts in bytes
    expect(limit('Max data size')).toEqual([2512 * 1024 ** 2, 2512 * 1024 ** 2]);
    expect(limit('Max file size')).toEqual([1024 ** 3, 1024 ** 3]);
    expect(limit('Max open files')).toEqual([256, 256]);
    expect(limit('Max core file size')).toEqual([0, 0]);
    expect(rights.trim().endsWith('\n800')).toBe(true);
    if (can('setpriv', '--no-new-privs', '--', 'true')) expect(rights).toMatch(/^NoNewPrivs:\s*1$/m);
    if (can('unshare', '--user', '--net', '--', 'true')) expect(rights).toMatch(/^CapEff:\s*0+$/m);
  });
});

import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect, test } from 'vitest';
import { hostileCase } from './mutate.ts';
import { fuzz } from './run.ts';
import { makeSeedClips } from './seed-clips.ts';
import { canTrace, createTraceReader, traced } from './trace.ts';
import { startTrap } from './trap.ts';

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-fuzz-'));
afterAll(() => rmSync(folder, { recursive: true }));
const clips = ['turned.mp4', 'fragments.mp4', 'vp8.webm'];

test('hostile clips are answered, each of them, and do nothing else', async () => {
  const report = await fuzz({
    runs: 12,
    seed: 7,
    from: 0,
    lanes: 2,
    keep: join(folder, 'wrong'),
    clips,
    stop: new AbortController().signal,
  });
  expect(report.wrong).toEqual([]);
  expect(report).toMatchObject({ done: 12, trapped: 0 });
  expect(Object.values(report.outcomes).reduce((sum, count) => sum + count, 0)).toBe(12);
  // neither does all pass nor does all fail, so the files are near to sound ones
  expect(Object.keys(report.outcomes)).toEqual(expect.arrayContaining(['facts', 'clip-damaged']));
  expect(report.networkless).toBeGreaterThan(0);
  if (canTrace()) expect(report.opened?.clip).toBeGreaterThan(12);
}, 180_000);

test('a seed makes the same files again, and each number another', async () => {
  const sound = await makeSeedClips(folder, ['tables-first.mp4', 'h264.mkv']);
  const lures = { address: 'http://127.0.0.1:9/clip', file: '/millrace/canary.mp4' };
  const made = (seed: number) => Array.from({ length: 150 }, (_, number) => hostileCase(seed, number, sound, lures));
  const [first, again, other] = [made(3), made(3), made(4)];
  expect(again.every(({ data }, i) => data.equals(first[i]!.data))).toBe(true);
  expect(new Set(first.map(({ data }) => data.toString('latin1'))).size).toBeGreaterThan(140);
  expect(other.filter(({ data }, i) => data.equals(first[i]!.data))).toHaveLength(0);
  expect(new Set(first.flatMap(({ steps }) => steps)).size).toBeGreaterThan(30);
  expect(first.some(({ data }) => data.includes(lures.address))).toBe(true);
});

describe('the watch', () => {
  test('the trap catches', async () => {
    const trap = await startTrap();
    const socket = connect(trap.port, '127.0.0.1').on('error', () => {});
    await once(socket, 'close');
    expect(trap.caught()).toBe(1);
    trap.close();
  });

  test.runIf(canTrace())('the trace tells another file, a changed clip and a socket', async () => {
    const [clip, canary] = [join(folder, 'a.clip'), join(folder, 'canary.mp4')];
    for (const file of [clip, canary]) writeFileSync(file, 'x');
    const out = join(folder, 'trace');
    const reader = createTraceReader(out);
    const run = (script: string) => {
      const [program = '', ...rest] = traced({ around: (command) => [...command] }, out).around(
        [process.execPath, '-e', script],
        0,
      );
      spawnSync(program, rest, { env: { PATH: process.env.PATH ?? '' } });
    };
    const told = async (script: string) => {
      const before = reader.total.forbidden.length;
      run(script);
      await wait(300);
      reader.read((path) => path === clip);
      return reader.total.forbidden.slice(before).map((line) => /"([^"]*)"|AF_INET/.exec(line)?.[0]);
    };
    expect(await told(`fs.readFileSync(${JSON.stringify(clip)})`)).toEqual([]);
    expect(reader.total.opened.clip).toBe(1);
    expect(await told(`fs.readFileSync(${JSON.stringify(canary)})`)).toEqual([JSON.stringify(canary)]);
    expect(await told(`fs.appendFileSync(${JSON.stringify(clip)}, 'y')`)).toEqual([JSON.stringify(clip)]);
    expect(await told(`fs.existsSync('x') || fs.readFileSync('/etc/hostname')`)).toEqual(['"/etc/hostname"']);
    expect(await told(`require('net').connect(9, '127.0.0.1').on('error', () => {})`)).toContain('AF_INET');
    reader.close();
  });
});

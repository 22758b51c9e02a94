import { execFileSync, spawn } from 'node:child_process';
import { expect, test } from 'vitest';
import { childrenOf, cpuSecondsOf } from '../../src/queue/process-cpu.ts';

const burn = 'const end = process.cpuUsage().user + 4e5; while (process.cpuUsage().user < end);'; // 0.4 s of CPU

test('CPU seconds count a child that has ended, as times(1) of the shell does', () => {
  const before = cpuSecondsOf(process.pid);
  execFileSync(process.execPath, ['-e', burn]);
  expect(cpuSecondsOf(process.pid) - before).toBeGreaterThanOrEqual(0.39);
  const told = execFileSync('sh', ['-c', `"${process.execPath}" -e '${burn}'; times`], { encoding: 'utf8' });
  expect(Number(/\n0m([\d.]+)s/.exec(told)?.[1])).toBeGreaterThanOrEqual(0.39);
});

test('a child that runs is found with its command, and counted; one that is gone costs nothing', async () => {
  const child = spawn(process.execPath, ['-e', `${burn} setInterval(() => {}, 1000)`]);
  try {
    await expect.poll(() => cpuSecondsOf(child.pid!), { timeout: 30_000 }).toBeGreaterThanOrEqual(0.39);
    expect(childrenOf(process.pid).find(({ pid }) => pid === child.pid)?.command).toContain('setInterval');
    expect(cpuSecondsOf(process.pid)).toBeGreaterThan(cpuSecondsOf(child.pid!));
  } finally {
    child.kill('SIGKILL');
  }
  await new Promise((resolve) => child.once('exit', resolve));
  expect(cpuSecondsOf(child.pid!)).toBe(0);
});

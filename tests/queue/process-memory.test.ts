import { spawn } from 'node:child_process';
import { expect, test } from 'vitest';
import { childrenOf } from '../../src/queue/process-cpu.ts';
import { ownResidentMb, residentMb } from '../../src/queue/process-memory.ts';

/** A program that starts another one and goes on; with the same command line unless `more` is given to it. */
const starts = (more: string) =>
  `if (!process.env.STARTED) require('node:child_process').spawn(process.execPath, [...process.execArgv, ...${more}], { env: { STARTED: '1' } });
  setInterval(() => {}, 1000)`;

test.each([
  { child: 'that is another program', more: "['--', 'more']", times: 2 },
  { child: 'that goes by its own command line, as just after fork(2),', more: '[]', times: 1 },
])('memory of a process counts a child $child $times times its own', async ({ more, times }) => {
  const parent = spawn(process.execPath, ['-e', starts(more)]);
  try {
    await expect.poll(() => childrenOf(parent.pid!).length, { timeout: 30_000 }).toBe(1);
    const [child] = childrenOf(parent.pid!);
    await expect.poll(() => ownResidentMb(child!.pid), { timeout: 30_000 }).toBeGreaterThan(20);
    const own = ownResidentMb(parent.pid!)!;
    const all = residentMb(parent.pid!)!;
    if (times === 1) expect(all).toBeLessThan(1.2 * own);
    else expect(all).toBeGreaterThan(own + 20);
  } finally {
    for (const { pid } of childrenOf(parent.pid!)) process.kill(pid, 'SIGKILL');
    parent.kill('SIGKILL');
  }
});

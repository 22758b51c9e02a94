import { readFileSync } from 'node:fs';
import { childIdsOf } from './process-memory.ts';

const ticksPerS = 100; // USER_HZ of Linux on every platform that Node runs on; proc(5)

/** Direct children of a process by id, with their command lines; empty when it is gone. Linux only. */
export function childrenOf(pid: number): { pid: number; command: string }[] {
  try {
    return childIdsOf(pid).map((child) => ({
      pid: child,
      command: readFileSync(`/proc/${child}/cmdline`, 'utf8').replaceAll('\0', ' '),
    }));
  } catch {
    return [];
  }
}

/** CPU seconds of a process, of the children it has waited for, and of those that still run, from /proc/<pid>/stat; 0 when it is gone. */
export function cpuSecondsOf(pid: number): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').at(-1)!.split(' ');
    // utime, stime, cutime and cstime are fields 14 to 17, and the first one here is field 3; proc(5)
    const ticks = fields.slice(11, 15).reduce((sum, field) => sum + Number(field), 0);
    return childIdsOf(pid).reduce((sum, child) => sum + cpuSecondsOf(child), ticks / ticksPerS);
  } catch {
    return 0;
  }
}

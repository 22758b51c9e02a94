import { readFileSync } from 'node:fs';

const pageBytes = 4096; // page size of x86-64 and of arm64 with 4 kB pages; a kernel with bigger pages is measured too low

/** Resident memory in MB of one process, from /proc; null where the system has no /proc or the process is gone. */
export function ownResidentMb(pid: number): number | null {
  try {
    return (Number(readFileSync(`/proc/${pid}/statm`, 'utf8').split(' ')[1] ?? 0) * pageBytes) / 1048576;
  } catch {
    return null;
  }
}

/** Resident memory in MB of a process and the programs it started, from /proc; null where the system has no /proc or the process is gone. */
export function residentMb(pid: number): number | null {
  try {
    let mb = ownResidentMb(pid) ?? 0;
    const children = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').trim();
    for (const child of children === '' ? [] : children.split(' ')) mb += residentMb(Number(child)) ?? 0;
    return mb;
  } catch {
    return null;
  }
}

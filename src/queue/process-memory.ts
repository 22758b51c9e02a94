import { readdirSync, readFileSync } from 'node:fs';

const pageBytes = 4096; // page size of x86-64 and of arm64 with 4 kB pages; a kernel with bigger pages is measured too low

/** Ids of the processes that any thread of a process started and that still run. Throws where there is no /proc or it is gone. */
export function childIdsOf(pid: number): number[] {
  return readdirSync(`/proc/${pid}/task`).flatMap((thread) => {
    try {
      const children = readFileSync(`/proc/${pid}/task/${thread}/children`, 'utf8').trim();
      return children === '' ? [] : children.split(' ').map(Number);
    } catch {
      return []; // the thread ended in between
    }
  });
}

/** Resident memory in MB of one process, from /proc; null where the system has no /proc or the process is gone. */
export function ownResidentMb(pid: number): number | null {
  try {
    return (Number(readFileSync(`/proc/${pid}/statm`, 'utf8').split(' ')[1] ?? 0) * pageBytes) / 1048576;
  } catch {
    return null;
  }
}

function commandOf(pid: number): string | null {
  try {
    return readFileSync(`/proc/${pid}/cmdline`, 'utf8');
  } catch {
    return null;
  }
}

/**
 * Resident memory in MB of a process and the programs it started, from /proc; null where the system has no /proc or the process is gone. A child that
 * is not yet the program it is to be still shares its parent's memory, fork(2), and is not counted twice; it goes by its parent's command line.
 */
export function residentMb(pid: number): number | null {
  try {
    const command = commandOf(pid);
    const programs = childIdsOf(pid).filter((child) => commandOf(child) !== command);
    return programs.reduce((mb, child) => mb + (residentMb(child) ?? 0), ownResidentMb(pid) ?? 0);
  } catch {
    return null;
  }
}

import { mkdtempSync, readdirSync, readlinkSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Numbers of processes count within one namespace only (Linux, pid_namespaces(7)); elsewhere there is one for all. */
function pidNamespace(): string {
  try {
    return readlinkSync('/proc/self/ns/pid').replace(/\D/g, '');
  } catch {
    return '0';
  }
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM'; // somebody else's
  }
}

const made = new Set<string>();

/**
 * A new empty folder under the system's temporary one. Before this process makes its first of a kind, those that killed processes left behind
 * are removed with what is in them: parts of clips.
 */
export function newTemporaryFolder(kind: 'worker' | 'clips', root = tmpdir()): string {
  const own = `quarterview-${kind}-${pidNamespace()}-`;
  for (const name of made.has(join(root, own)) ? [] : readdirSync(root)) {
    const pid = name.startsWith(own) ? Number.parseInt(name.slice(own.length), 10) : Number.NaN;
    if (pid === process.pid || (pid > 0 && !isRunning(pid))) rmSync(join(root, name), { recursive: true, force: true });
  }
  made.add(join(root, own));
  return mkdtempSync(join(root, `${own}${process.pid}-`));
}

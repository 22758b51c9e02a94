import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';

/** How a measuring process is started so that it can do little harm. Each part is left out where the system does not have it. */
export interface Confinement {
  /** Program and arguments that start `command` confined. The programs before it replace themselves, so the process id stays. */
  around(command: readonly string[], maxMemoryMb: number): string[];
}

/** Chosen room above the watched memory: the watch ends a process first and says so; the kernel is the wall behind it. */
const spareMb = 512;
const openFiles = 256; // chosen: far below what a host has, so that a process that leaks them ends alone
/** One file that a process may write, MB; a cut for a chat is far below. Chosen. */
const fileMb = 1024;
const probeMs = 5000; // chosen: the probed programs only start and end

const programs = ['/usr/bin', '/bin', '/usr/sbin', '/sbin'];
const find = (name: string) => programs.map((folder) => `${folder}/${name}`).find((path) => existsSync(path));
const works = (command: readonly string[]) =>
  spawnSync(command[0]!, [...command.slice(1), '/bin/sh', '-c', ':'], { stdio: 'ignore', env: {}, timeout: probeMs }).status ===
  0;

/**
 * What each line asks: no core dump, few open files, small files (blocks of 512 bytes), memory that a process can fill (kB; address
 * space is no measure for V8, which sets aside 30 GB and fills little), and to be the first to go when the system runs out of memory.
 * A limit that a system does not have is passed over; its absence is found by the worker's self-check.
 */
const limitsThen = (maxMemoryMb: number) =>
  [
    `ulimit -c 0; ulimit -n ${openFiles}; ulimit -f ${fileMb * 2048}; ulimit -d ${(maxMemoryMb + spareMb) * 1024}`,
    'echo 800 > /proc/self/oom_score_adj',
  ]
    .map((line) => `{ ${line}; } 2>/dev/null`)
    .concat('exec "$@"')
    .join('; ');

let probed: string[] | null = null;

/** Takes the network away, and the way to more rights: what of it works here, tried once. */
function probe(): string[] {
  if (probed !== null) return probed;
  const unshare = find('unshare');
  const setpriv = find('setpriv');
  // a user namespace needs no rights, and takes from root what makes it root; only some containers refuse it
  const networkless = [
    ['--user', '--net', '--'],
    ['--net', '--'],
  ].map((options) => [unshare ?? '', ...options]);
  const away = unshare === undefined ? undefined : networkless.find(works);
  const noMore = setpriv === undefined ? [] : [setpriv, '--no-new-privs', '--'];
  probed = [...(away ?? []), ...(noMore.length > 0 && works(noMore) ? noMore : [])];
  return probed;
}

/**
 * The least that this system lets a measuring process have: limits of the kernel (through `ulimit` of /bin/sh), no network (a network
 * namespace of its own, without a device that is up), no way to more rights. Sockets that are files, and files that this user may
 * read, it could still open. On Windows nothing of this is there.
 */
export const leastRights: Confinement = {
  around(command, maxMemoryMb) {
    if (process.platform === 'win32' || !existsSync('/bin/sh')) return [...command];
    return ['/bin/sh', '-c', limitsThen(maxMemoryMb), 'measuring', ...probe(), ...command];
  },
};

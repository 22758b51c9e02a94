import { spawnSync } from 'node:child_process';
import { closeSync, openSync, readSync, realpathSync, writeFileSync } from 'node:fs';
import { dirname, isAbsolute, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Confinement } from '../../src/queue/confinement.ts';

/** System calls that a measuring process made: the files it tried to open, by what they are; and what it must not have tried. */
export interface Traced {
  opened: { clip: number; program: number; system: number; ownFolder: number };
  /** Lines of the trace that nothing allows: another file, a network socket, a program that is not ours. */
  forbidden: string[];
}

const calls =
  'open,openat,openat2,creat,execve,execveat,socket,connect,bind,rename,renameat,renameat2,link,linkat,symlink,symlinkat,mkdir,mkdirat,ptrace';
const project = fileURLToPath(new URL('../../', import.meta.url));
const packages = realpathSync(new URL('../../node_modules', import.meta.url));
const nodeFolder = dirname(dirname(realpathSync(process.execPath)));
/** Programs, libraries and what comes with them. */
const programFiles = [
  project,
  `${packages}/`,
  `${nodeFolder}/`,
  '/usr/',
  '/lib/',
  '/lib64/',
  '/bin/',
  '/sbin/',
  '/etc/ld.so',
  '/etc/ssl/',
  '/etc/gcrypt/',
  '/etc/localtime',
  '/etc/alternatives/',
];
/** What a process asks of the kernel. */
const systemFiles = ['/proc/', '/sys/', '/dev/null', '/dev/urandom', '/dev/random', '/dev/tty'];

/** Whether strace runs here and may trace. */
export const canTrace = () => spawnSync('strace', ['-f', '-qq', '-o', '/dev/null', '--', 'true']).status === 0;

/** The confinement with all system calls of interest written down. The tracer is a session of its own: a kill does not reach it. */
export const traced = (confinement: Confinement, out: string): Confinement => ({
  around: (command, mb) => [
    ...[
      '/usr/bin/env',
      'strace',
      '-DDD',
      '-f',
      '-qq',
      '--seccomp-bpf',
      '-A',
      '-o',
      out,
      '-s',
      '400',
      '-e',
      'signal=none',
      '-e',
      `trace=${calls}`,
      '--',
    ],
    ...confinement.around(command, mb),
  ],
});

/** Reads a trace as it grows. */
export function createTraceReader(file: string) {
  writeFileSync(file, '');
  const handle = openSync(file, 'r');
  const chunk = Buffer.alloc(1 << 20);
  let rest = '';
  const total: Traced = { opened: { clip: 0, program: 0, system: 0, ownFolder: 0 }, forbidden: [] };

  function judge(line: string, isClip: (path: string) => boolean): void {
    const call = /^\d+ +(\w+)\((.*)$/.exec(line);
    if (call === null || / resumed>/.test(line)) return;
    const [, name, args = ''] = call;
    if (name === 'socket') {
      if (!/^AF_UNIX/.test(args)) total.forbidden.push(line);
      return;
    }
    const path = /"((?:[^"\\]|\\.)*)"/
      .exec(args)?.[1]
      ?.replace(/\\(\d{1,3}|.)/g, (_, c: string) => (/\d/.test(c) ? String.fromCharCode(Number.parseInt(c, 8)) : c));
    // tsx asks whether the process that started it watches files, by a socket in the process's own folder
    if (name === 'connect' && /^\d+, \{sa_family=AF_UNIX, sun_path="[^"]*\/quarterview-worker-\d+-\d+-\w{6}\/tsx-/.test(args))
      total.opened.ownFolder++;
    else if (name === 'connect' || name === 'bind' || name === 'ptrace') total.forbidden.push(line);
    else if (path === undefined) return;
    else if (name === 'execve' && /\/(node|esbuild|ffmpeg|ffprobe|sh|env|prlimit|setpriv|unshare)$/.test(path))
      total.opened.program++;
    else if (name === 'execve') total.forbidden.push(line);
    else if (isClip(path) && !/O_(WRONLY|RDWR|CREAT|TRUNC)/.test(args)) total.opened.clip++;
    else if (/\/quarterview-worker-\d+-\d+-\w{6}(\/|$)/.test(path)) total.opened.ownFolder++;
    else if (!isAbsolute(path) || /O_(WRONLY|RDWR|CREAT|TRUNC)/.test(args)) {
      if (systemFiles.some((begin) => path.startsWith(begin))) total.opened.system++;
      else total.forbidden.push(line);
    } else if (programFiles.some((begin) => normalize(path).startsWith(begin))) total.opened.program++;
    else if (systemFiles.some((begin) => normalize(path).startsWith(begin))) total.opened.system++;
    else total.forbidden.push(line);
  }

  return {
    total,
    /** Takes in what was written since the last time; `isClip` tells the paths of clips that were under way. */
    read(isClip: (path: string) => boolean): void {
      for (let bytes = readSync(handle, chunk); bytes > 0; bytes = readSync(handle, chunk)) {
        const lines = (rest + chunk.toString('latin1', 0, bytes)).split('\n');
        rest = lines.pop() ?? '';
        for (const line of lines) judge(line, isClip);
      }
    },
    close: () => closeSync(handle),
  };
}

import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import type { Readable } from 'node:stream';
import { ClipError } from './clip-error.ts';
import { findFfmpeg } from './find-ffmpeg.ts';

/** What one run may take. `maxOutBytes` caps every file written; who reads stdout counts its bytes. */
export interface RunLimits {
  timeoutS: number;
  maxMemoryMb: number;
  maxOutBytes: number;
}

/** A program under way. `ended` resolves when it is gone, with its exit and what it said; it rejects on abort, time and size. */
export interface FfmpegRun {
  stdout: Readable;
  /** File descriptor 3, for times. */
  times: Readable;
  /** File descriptors 4 and 5, for a second output and its times. */
  second: { stdout: Readable; times: Readable };
  ended: Promise<{ ok: boolean; said: string; decodeErrors: number }>;
  /** Ends the program; `ended` then rejects with the reason. */
  stop(reason: unknown): void;
}

const codecs = 'h264,hevc,vp8,vp9,av1,libdav1d,libvpx,libvpx-vp9,libaom-av1,aac';
const saidMax = 64 * 1024; // kept of what ffmpeg says; chosen: hundreds of lines, while a hostile clip can make it say more without end
const prlimit = ['/usr/bin/prlimit', '/bin/prlimit'].find((path) => existsSync(path));

/** A line of ffmpeg that means damaged data (texts of FFmpeg 5.1 and 7.0). */
const damage =
  /Invalid NAL|partial file|corrupt|[Ee]rror while decoding|decode_slice|non-existing PPS|Invalid data found|Error submitting (a )?packet|error decoding|Error splitting|missing picture|Could not find ref|concealing|no frame!|Invalid level|Truncat|exceeds/;

/**
 * Arguments that name an untrusted input: only local files, only the mov and matroska readers, only known codecs. The `file:`
 * prefix keeps a name like `concat:a|b.mp4` from being a protocol. `before` are the input's own options (`-ss`).
 */
export function inputArgs(file: string, maxPixels: number, before: string[] = []): string[] {
  return [
    ...['-nostdin', '-hide_banner', '-nostats', '-v', 'repeat+error', '-threads', '2'],
    ...['-protocol_whitelist', 'file', '-format_whitelist', 'mov,matroska', '-codec_whitelist', codecs],
    ...['-max_pixels', String(maxPixels), '-max_streams', '32', ...before, '-i', `file:${file}`],
  ];
}

/**
 * Starts ffmpeg without a shell, with an empty environment, a kill timer, a cap on what is kept of stderr and, where prlimit is
 * present, caps on address space, CPU, open files and file size. Address space: a program maps far more than it uses, so the cap
 * is `maxMemoryMb` but at least 1.5 GB.
 * @throws FfmpegMissing
 */
export async function startFfmpeg(args: string[], limits: RunLimits, signal: AbortSignal, cwd?: string): Promise<FfmpegRun> {
  const { path } = await findFfmpeg(process.env);
  signal.throwIfAborted();
  const caps = [
    `--as=${Math.max(limits.maxMemoryMb, 1536) * 1024 * 1024}`,
    `--cpu=${Math.ceil(limits.timeoutS * 4)}`,
    `--fsize=${limits.maxOutBytes}`,
    ...['--core=0', '--nofile=64', '--', path],
  ];
  const child = spawn(prlimit ?? path, prlimit ? [...caps, ...args] : args, {
    env: {},
    stdio: ['ignore', 'pipe', 'pipe', 'pipe', 'pipe', 'pipe'],
    windowsHide: true,
    ...(cwd === undefined ? {} : { cwd }),
  });
  return watch(child, limits, signal);
}

function watch(child: ChildProcess, limits: RunLimits, signal: AbortSignal): FfmpegRun {
  let stopped: { reason: unknown } | null = null;
  const [, ...pipes] = child.stdio as (Readable | null)[];
  const stop = (reason: unknown) => {
    stopped ??= { reason };
    child.kill('SIGKILL');
    for (const pipe of pipes) pipe?.destroy();
  };
  const onAbort = () => stop(signal.reason);
  signal.addEventListener('abort', onAbort, { once: true });
  const timer = setTimeout(
    () => stop(new ClipError('clip-took-too-long', `ffmpeg ran over ${limits.timeoutS} s`, { retry: true })),
    limits.timeoutS * 1000,
  );

  let said = '';
  let decodeErrors = 0;
  let rest = '';
  child.stderr?.setEncoding('utf8').on('data', (text: string) => {
    const lines = (rest + text).split('\n');
    rest = (lines.pop() ?? '').slice(-4096);
    for (const line of lines) if (damage.test(line)) decodeErrors++;
    if (said.length < saidMax) said += text.slice(0, saidMax - said.length);
  });
  const stdout = child.stdout!;
  for (const pipe of pipes) pipe?.on('error', () => {});

  const ended = new Promise<{ ok: boolean; said: string; decodeErrors: number }>((done, fail) => {
    child.on('error', (cause) => fail(new ClipError('worker-died', 'ffmpeg did not start', { cause, retry: true })));
    child.on('exit', (code, killedBy) => {
      clearTimeout(timer);
      signal.removeEventListener('abort', onAbort);
      if (stopped) return fail(stopped.reason);
      const finish = () => {
        if (killedBy === 'SIGXCPU') fail(new ClipError('clip-took-too-long', 'ffmpeg used up its CPU time', { retry: true }));
        else done({ ok: code === 0, said: killedBy ? `${said}\nkilled by ${killedBy}` : said, decodeErrors });
      };
      if (child.stderr?.readableEnded !== false) finish();
      else child.stderr.once('close', finish);
    });
  });
  ended.catch(() => {});
  const [times, secondOut, secondTimes] = pipes.slice(2) as Readable[];
  return { stdout, times: times!, second: { stdout: secondOut!, times: secondTimes! }, ended, stop };
}

/** The clip's error that a failed run's text tells of. Exit codes differ between versions, so only the text counts. */
export function errorFrom(said: string): ClipError {
  const tell = said.trim().slice(-500);
  if (/exceeds specified max pixel|Picture size .* is invalid|max_pixels/i.test(said))
    return new ClipError('clip-too-many-pixels', tell);
  // too many streams end as `Cannot allocate memory` too
  if (/exceeds max_streams/i.test(said)) return new ClipError('clip-damaged', tell);
  if (/Cannot allocate memory|Out of memory|bad_alloc|SIGABRT/i.test(said))
    return new ClipError('clip-took-too-much-memory', tell, { retry: true });
  if (
    /not on whitelist|[Dd]ecoder \(codec .*\) not found|No decoder|Unknown decoder|Decoding requested, but no decoder/i.test(said)
  ) {
    return new ClipError(
      /Format not on whitelist|Protocol .* not on whitelist/i.test(said) ? 'clip-not-video' : 'clip-codec-unknown',
      tell,
    );
  }
  if (/matches no streams/i.test(said)) return new ClipError('clip-image-or-audio-only', tell);
  if (/Permission denied/i.test(said)) return new ClipError('clip-no-permission', tell);
  if (/No such file/i.test(said)) return new ClipError('clip-missing', tell);
  return new ClipError('clip-damaged', tell || 'ffmpeg failed and said nothing');
}

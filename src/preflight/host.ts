import { spawn } from 'node:child_process';
import { accessSync, constants, mkdirSync, statfsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { z } from 'zod';
import { leastRights } from '../queue/confinement.ts';
import { type CheckedRow, row } from './row.ts';

const oldestNode = [20, 20] as const; // package.json, engines
const fewBytes = 2_000_000_000; // chosen: seven clips of the largest size that is taken by default
const selfCheckMs = 60_000; // chosen: for a busy host

const Told = z.strictObject({ ok: z.boolean(), found: z.string() });
const SelfCheck = z.strictObject({ ffmpeg: Told, models: Told, limits: Told, network: Told });
/** The default of limits.maxMemoryMb: the check needs less, and whether a limit is kept does not hang on its size. */
const selfCheckMb = 1500;

/** Whether this Node is new enough; `version` like 20.20.1. */
export function nodeRow(version: string): CheckedRow {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  const ok = major > oldestNode[0] || (major === oldestNode[0] && minor >= oldestNode[1]);
  return row('Node', ok, version, `Install Node ${oldestNode.join('.')} or newer.`);
}

/** Whether a folder is there (it is made) and can be written, and has room for clips. */
export function folderRows(what: string, folder: string): CheckedRow[] {
  const fix = `Give this user the right to write ${folder}, or name another folder in DATA_FOLDER.`;
  try {
    mkdirSync(folder, { recursive: true });
    accessSync(folder, constants.R_OK | constants.W_OK | constants.X_OK);
  } catch (error) {
    return [row(what, false, String(error), fix)];
  }
  const { bavail, bsize } = statfsSync(folder);
  const free = bavail * bsize;
  const found = `${folder}, ${(free / 1e9).toFixed(1)} GB free`;
  return [row(what, free >= fewBytes, found, `Make room on the disk of ${folder}.`, false)];
}

/**
 * Asks a worker process of this host for ffmpeg and the models, both tried for real, and for what it is kept from; the process is
 * started as measuring processes are. What it cannot be kept from is a row worth a look. `entry`: workers/self-check.ts.
 */
export async function measuringRows(entry: string, variables: Record<string, string>): Promise<CheckedRow[]> {
  const fixes = {
    ffmpeg: 'apt install ffmpeg (5.1 or newer), brew install ffmpeg, or name one in FFMPEG_PATH.',
    models: 'Run npm ci again: the models come with the package @mediapipe/pose, their engine with onnxruntime-node.',
    limits: 'Run on Linux with util-linux (prlimit, setpriv), or give the measuring host nothing but measuring to do.',
    network:
      'Let this user make network namespaces (util-linux; sysctl kernel.apparmor_restrict_unprivileged_userns=0 on Ubuntu; in Docker ' +
      'a seccomp profile that allows unshare), or measure on workers whose network reaches only the bot and Redis.',
  };
  try {
    const { ffmpeg, models, limits, network } = SelfCheck.parse(JSON.parse(await outputOf(entry, variables)));
    return [
      row('ffmpeg', ffmpeg.ok, ffmpeg.found, fixes.ffmpeg),
      row('models', models.ok, models.found, fixes.models),
      row('measuring: limits', limits.ok, limits.found, fixes.limits, false),
      row('measuring: network', network.ok, network.found, fixes.network, false),
    ];
  } catch (error) {
    return [row('measuring', false, error instanceof Error ? error.message : String(error), fixes.models)];
  }
}

function outputOf(entry: string, env: Record<string, string>): Promise<string> {
  const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
  return new Promise((resolve, reject) => {
    const [program = '', ...rest] = leastRights.around([process.execPath, '--import', loader, entry], selfCheckMb);
    const child = spawn(program, rest, { env, stdio: ['ignore', 'pipe', 'pipe'] });
    const timer = setTimeout(() => child.kill('SIGKILL'), selfCheckMs);
    let out = '';
    let errors = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      out += text;
    });
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      errors = (errors + text).slice(-2000);
    });
    child.on('error', reject);
    child.on('close', (code) => {
      clearTimeout(timer);
      if (code === 0) resolve(out);
      else reject(new Error(`the worker's check ended with ${code}: ${errors.trim()}`));
    });
  });
}

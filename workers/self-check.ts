/**
 * Says on standard output, as JSON, whether this host can measure: the ffmpeg that was found, and each model, loaded for real; and
 * what this process is kept from, as the process itself finds it.
 */
import { readFileSync } from 'node:fs';
import { networkInterfaces } from 'node:os';
import { findFfmpeg } from './media/find-ffmpeg.ts';
import { type ModelName, openModel } from './pose/models.ts';

const names: ModelName[] = ['detector', 'lite', 'heavy'];
const told = (work: Promise<string>) =>
  work.then(
    (found) => ({ ok: true, found }),
    (error: unknown) => ({ ok: false, found: error instanceof Error ? error.message : String(error) }),
  );

const ffmpeg = await told(findFfmpeg(process.env).then(({ version, path, from }) => `${version} at ${path} (${from})`));
const models = await told(Promise.all(names.map(openModel)).then(() => names.join(', ')));
process.stdout.write(JSON.stringify({ ffmpeg, models, limits: limits(), network: network() }));

/** A limit of the kernel that is not set reads `unlimited`: proc(5), /proc/<pid>/limits. */
function limits(): { ok: boolean; found: string } {
  try {
    const text = readFileSync('/proc/self/limits', 'latin1');
    const watched = ['Max data size', 'Max file size', 'Max open files', 'Max core file size'];
    const open = watched.filter((name) => new RegExp(`^${name} +unlimited`, 'm').test(text)).map((name) => name.slice(4));
    const mayRise = /^NoNewPrivs:\s*0/m.test(readFileSync('/proc/self/status', 'latin1'));
    const missing = [...open.map((name) => `no limit on ${name}`), ...(mayRise ? ['it may gain rights'] : [])];
    return { ok: missing.length === 0, found: missing.join(', ') || 'memory, CPU time, open files, file size, no more rights' };
  } catch {
    return { ok: false, found: 'no /proc: memory and CPU time of the measuring process cannot be watched' };
  }
}

/** Without an address of its own, the loopback's included, a process reaches nobody. */
function network(): { ok: boolean; found: string } {
  const names = Object.keys(networkInterfaces());
  return { ok: names.length === 0, found: names.length === 0 ? 'taken away' : `in reach: ${names.join(', ')}` };
}

import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ClipLimits } from '../../src/queue/payload.ts';
import { findFfmpeg } from '../../workers/media/find-ffmpeg.ts';

export const limits: ClipLimits = {
  maxBytes: 50_000_000,
  maxDurationS: 120,
  maxPixels: 9_000_000,
  timeoutS: 30,
  maxMemoryMb: 600,
};

/** A folder for one test file; call `remove` at its end. */
export function tempFolder(): { path: (name: string) => string; folder: string; remove: () => void } {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-media-'));
  return { folder, path: (name) => join(folder, name), remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** Runs ffmpeg on trusted input to make a fixture. */
export async function make(...args: string[]): Promise<void> {
  const { path } = await findFfmpeg(process.env);
  execFileSync(path, ['-nostdin', '-v', 'error', '-y', ...args], { stdio: ['ignore', 'ignore', 'inherit'] });
}

/** A picture that differs in each corner, `lengthS` long, H.264 with a key frame each second. */
export function sample(out: string, size: string, fps: number, lengthS: number, ...more: string[]): Promise<void> {
  const source = `testsrc2=size=${size}:rate=${fps}:duration=${lengthS}`;
  return make(
    '-f',
    'lavfi',
    '-i',
    source,
    '-c:v',
    'libx264',
    '-preset',
    'ultrafast',
    '-g',
    String(fps),
    '-pix_fmt',
    'yuv420p',
    ...more,
    out,
  );
}

/** Bytes of the first box on a path like moov/trak/tkhd: [start of its content, end]. ISO/IEC 14496-12, clause 4.2. */
export function findBox(data: Buffer, path: string): [number, number] {
  let [from, to] = [0, data.length];
  for (const name of path.split('/')) {
    let at = from;
    while (at + 8 <= to && data.toString('latin1', at + 4, at + 8) !== name) at += data.readUInt32BE(at);
    if (at + 8 > to) throw new Error(`no box ${name} of ${path}`);
    [from, to] = [at + 8, at + data.readUInt32BE(at)];
  }
  return [from, to];
}

/** Copies a file with its bytes changed in place, or with the bytes that `change` gives back. */
export function patch(file: string, out: string, change: (data: Buffer) => unknown): void {
  const data = readFileSync(file);
  const changed = change(data);
  writeFileSync(out, Buffer.isBuffer(changed) ? changed : data);
}

/**
 * Display matrix of the track header in the order a b u c d v x y w (16.16, and 2.30 for u v w): ISO/IEC 14496-12, 8.3.2.
 * A point (p, q) of the frame is shown at (a p + c q + x, b p + d q + y), so a clockwise quarter turn is a=0 b=1 c=-1 d=0.
 */
export function setMatrix(data: Buffer, [a, b, c, d]: readonly [number, number, number, number]): void {
  const [start] = findBox(data, 'moov/trak/tkhd');
  const at = start + 4 + (data[start] === 1 ? 32 : 20) + 8 + 8;
  const cells = [a * 65536, b * 65536, 0, c * 65536, d * 65536, 0, 0, 0, 0x40000000];
  for (const [i, cell] of cells.entries()) data.writeInt32BE(cell, at + 4 * i);
}

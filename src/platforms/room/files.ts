import { randomBytes } from 'node:crypto';
import { createReadStream, createWriteStream, readdirSync, unlinkSync } from 'node:fs';
import { open, rm, stat } from 'node:fs/promises';
import { extname, join } from 'node:path';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { PlatformError } from '../port.ts';
import type { StoredFile } from './store.ts';

/** Types that a browser may show in the page; anything else is handed over as a download. */
const shown: Record<string, string> = {
  '.mp4': 'video/mp4',
  '.m4v': 'video/mp4',
  '.mov': 'video/quicktime',
  '.webm': 'video/webm',
  '.mkv': 'video/x-matroska',
  '.png': 'image/png',
  '.jpg': 'image/jpeg',
  '.jpeg': 'image/jpeg',
  '.webp': 'image/webp',
};

/** The type under which a file of this name is served; null when it is only handed over as a download. */
export function shownType(name: string): string | null {
  return shown[extname(name).toLowerCase()] ?? null;
}

/** A name for a file that cannot be guessed: 128 random bits. */
export function newFileId(): string {
  return randomBytes(16).toString('hex');
}

/** A body that grew over its cap. */
export class TooBig extends Error {}

/**
 * Writes a stream to `path` and counts; resolves with the bytes written. Throws {@link TooBig} over `maxBytes`, and leaves nothing behind
 * after any failure.
 */
export async function writeCapped(
  from: NodeJS.ReadableStream,
  path: string,
  maxBytes: number,
  signal: AbortSignal,
): Promise<number> {
  let bytes = 0;
  const count = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      bytes += chunk.length;
      done(bytes > maxBytes ? new TooBig() : null, chunk);
    },
  });
  try {
    await pipeline(from, count, createWriteStream(path, { mode: 0o600 }), { signal });
    return bytes;
  } catch (error) {
    await rm(path, { force: true });
    throw error;
  }
}

/**
 * Copies a stored file to `path`. Refuses one over `maxBytes`; says not-ready when the bytes on the disk are not those that were posted (another
 * length), gone when there are none.
 */
export async function copyOut(
  folder: string,
  file: StoredFile,
  path: string,
  maxBytes: number,
  signal: AbortSignal,
): Promise<void> {
  signal.throwIfAborted();
  const tooBig = () =>
    new PlatformError('refused', `${file.name} is larger than ${maxBytes} bytes`, { final: true, retryAfterMs: null });
  if (file.bytes > maxBytes) throw tooBig();
  const from = join(folder, file.id);
  const size = await stat(from).then(
    (found) => found.size,
    (cause: unknown) => {
      throw new PlatformError('gone', `${file.name} is no longer kept`, { final: true, retryAfterMs: null }, { cause });
    },
  );
  if (size !== file.bytes) {
    const message = `${file.name} holds ${size} bytes instead of the ${file.bytes} that were posted`;
    throw new PlatformError('not-ready', message, { final: false, retryAfterMs: null });
  }
  await writeCapped(createReadStream(from), path, maxBytes, signal).catch((error: unknown) => {
    throw error instanceof TooBig ? tooBig() : error;
  });
}

/** Removes the bytes of files; missing ones are fine. */
export async function dropFiles(folder: string, files: Pick<StoredFile, 'id'>[]): Promise<void> {
  await Promise.all(files.map((file) => rm(join(folder, file.id), { force: true })));
}

/** Removes every file that no message holds: uploads that were never posted, copies that a kill left behind. For the start only. */
export function dropOrphans(folder: string, kept: Set<string>): void {
  for (const name of readdirSync(folder)) if (!kept.has(name)) unlinkSync(join(folder, name));
}

/** A stored file as an answer to a GET, with byte ranges (a player seeks by them). 404 when there is none. */
export async function serveFile(folder: string, file: StoredFile, range: string | undefined): Promise<Response> {
  const handle = await open(join(folder, file.id), 'r').catch(() => null);
  if (handle === null) return new Response('This file is no longer kept.', { status: 404 });
  const { size } = await handle.stat();
  const type = shownType(file.name);
  const headers = new Headers({
    'accept-ranges': 'bytes',
    'content-type': type ?? 'application/octet-stream',
    'content-disposition': `${type === null ? 'attachment' : 'inline'}; filename*=UTF-8''${encodeURIComponent(file.name)}`,
    // Over the page's policy: a file is shown, it never runs anything.
    'content-security-policy': "default-src 'none'; media-src 'self'; img-src 'self'; style-src 'none'; sandbox",
  });
  const wanted = /^bytes=(\d*)-(\d*)$/.exec(range ?? '');
  let start = 0;
  let end = size - 1;
  if (wanted !== null && (wanted[1] !== '' || wanted[2] !== '')) {
    if (wanted[1] === '') start = Math.max(0, size - Number(wanted[2]));
    else {
      start = Number(wanted[1]);
      if (wanted[2] !== '') end = Math.min(end, Number(wanted[2]));
    }
    if (start > end) {
      await handle.close();
      return new Response(null, { status: 416, headers: { 'content-range': `bytes */${size}` } });
    }
    headers.set('content-range', `bytes ${start}-${end}/${size}`);
  }
  headers.set('content-length', String(end - start + 1));
  const status = headers.has('content-range') ? 206 : 200;
  if (size === 0) {
    await handle.close();
    return new Response(null, { status, headers });
  }
  const stream = handle.createReadStream({ start, end });
  const body = new ReadableStream<Uint8Array>({
    start(controller) {
      stream.on('data', (chunk) => {
        controller.enqueue(chunk as Buffer);
        if ((controller.desiredSize ?? 0) <= 0) stream.pause();
      });
      stream.on('end', () => controller.close());
      stream.on('error', (error) => controller.error(error));
    },
    pull: () => void stream.resume(),
    cancel: () => void stream.destroy(),
  });
  return new Response(body, { status, headers });
}

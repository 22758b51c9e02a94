import { open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { Hono } from 'hono';
import type { ClipAddresses } from './signed-address.ts';

export interface ClipRoutesOptions {
  addresses: ClipAddresses;
  /** The clip's file, null when there is none (any more). */
  fileOf(id: string): Promise<string | null>;
}

const statusOf = { forged: 403, expired: 410, used: 410 } as const;

/**
 * `GET /clips/:id` for workers: 403 without a signature of ours, 410 when the address has expired or was used, 404 when the clip is
 * gone. A transfer that breaks off leaves the address good.
 */
export function clipRoutes({ addresses, fileOf }: ClipRoutesOptions): Hono {
  return new Hono().get('/clips/:id', async (c) => {
    if (c.req.method !== 'GET') return c.text('only GET', 405); // Hono answers HEAD by the same way, and it would use the address up
    const part = (name: string) => c.req.query(name) ?? '';
    const given = { id: c.req.param('id'), expires: part('expires'), use: part('use'), signature: part('signature') };
    const state = addresses.take(given);
    if (state !== 'good') return c.text(state, statusOf[state]);
    const file = await fileOf(given.id).catch((error: unknown) => {
      addresses.giveBack(given);
      throw error;
    });
    const handle = file === null ? null : await open(file, 'r').catch(() => null);
    const found = await handle?.stat();
    if (handle === null || !found?.isFile()) {
      await handle?.close();
      addresses.giveBack(given);
      return c.text('gone', 404);
    }
    const stream = handle.createReadStream();
    stream.once('close', () => {
      if (!stream.readableEnded) addresses.giveBack(given);
    });
    c.header('Content-Type', 'application/octet-stream');
    c.header('Content-Length', String(found.size));
    c.header('Cache-Control', 'no-store');
    return c.body(Readable.toWeb(stream) as ReadableStream);
  });
}

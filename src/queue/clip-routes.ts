import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { Hono } from 'hono';
import { checkAddress } from './signed-address.ts';

export interface ClipRoutesOptions {
  secret: string;
  /** The clip's file, null when there is none (any more). */
  fileOf(id: string): Promise<string | null>;
  nowMs(): number;
}

/** `GET /clips/:id` for workers: 403 without a signature of ours, 410 when it has expired, 404 when the clip is gone. */
export function clipRoutes({ secret, fileOf, nowMs }: ClipRoutesOptions): Hono {
  return new Hono().get('/clips/:id', async (c) => {
    const id = c.req.param('id');
    const checked = checkAddress(secret, id, c.req.query('expires') ?? '', c.req.query('signature') ?? '', nowMs());
    if (checked !== 'good') return c.text(checked, checked === 'expired' ? 410 : 403);
    const file = await fileOf(id);
    const found = file === null ? null : await stat(file).catch(() => null);
    if (file === null || found === null || !found.isFile()) return c.text('gone', 404);
    c.header('Content-Type', 'application/octet-stream');
    c.header('Content-Length', String(found.size));
    c.header('Cache-Control', 'no-store');
    return c.body(Readable.toWeb(createReadStream(file)) as ReadableStream);
  });
}

import { copyFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { HttpBindings } from '@hono/node-server';
import { Hono } from 'hono';
import type { Person } from '../port.ts';
import { dropFiles, newFileId, TooBig, writeCapped } from './files.ts';
import { refuse } from './guard.ts';
import { hold, type Session } from './sessions.ts';
import type { StoredFile } from './store.ts';
import { cleanName } from './text.ts';

/** A clip for those who have none at hand. */
export interface SampleClip {
  path: string;
  /** The caption with which it is posted. */
  caption: string;
}

type Env = { Bindings: HttpBindings; Variables: { session: Session; visitor: Person | null } };

/** Bytes as people say them. */
function megabytes(bytes: number): string {
  return `${(bytes / 1_000_000).toFixed(bytes < 10_000_000 ? 1 : 0)} MB`;
}

/** Routes that take files in: `PUT /?name=` with the bare bytes as body, `POST /sample`. Both answer with the key under which to post the file. */
export function uploadRoutes(options: {
  folder: string;
  maxBytes: number;
  sample: SampleClip | null;
  signal: AbortSignal;
}): Hono<Env> {
  const { folder, maxBytes, sample, signal } = options;
  const keep = async (session: Session, file: StoredFile) => {
    const { key, dropped } = hold(session.uploads, file);
    await dropFiles(folder, dropped);
    return { key, name: file.name, bytes: file.bytes };
  };
  const routes = new Hono<Env>();

  routes.put('/', async (c) => {
    const tooBig = () =>
      refuse(
        c,
        413,
        'too-big',
        `That file is larger than this room takes (${megabytes(maxBytes)}). Trim the clip to the lift and post it again.`,
      );
    const announced = Number(c.req.header('content-length') ?? Number.NaN);
    if (announced > maxBytes) {
      c.header('connection', 'close');
      return tooBig();
    }
    const id = newFileId();
    try {
      const bytes = await writeCapped(c.env.incoming, join(folder, id), maxBytes, signal);
      if (bytes === 0) {
        await dropFiles(folder, [{ id }]);
        return refuse(c, 400, 'empty', 'That file is empty.');
      }
      const type = c.req.header('content-type') ?? '';
      const contentType = /^[\w.+-]+\/[\w.+-]+$/.test(type) ? type : null;
      const name = cleanName(c.req.query('name') ?? '', 120, 'clip');
      return c.json(await keep(c.get('session'), { id, name, contentType, bytes, alt: null }));
    } catch (error) {
      if (error instanceof TooBig) return tooBig();
      const code = (error as NodeJS.ErrnoException).code;
      if (code === 'ENOSPC' || code === 'EDQUOT')
        return refuse(c, 507, 'disk-full', 'The disk of the computer that runs this room is full. Nothing was posted.');
      if (code === 'ERR_STREAM_PREMATURE_CLOSE' || code === 'ECONNRESET' || code === 'ABORT_ERR')
        return refuse(c, 400, 'cut-off', 'The upload was cut off. Please try again.');
      throw error;
    }
  });

  routes.post('/sample', async (c) => {
    if (sample === null) return refuse(c, 404, 'no-sample', 'This room has no sample clip.');
    const id = newFileId();
    await copyFile(sample.path, join(folder, id));
    const { size } = await stat(join(folder, id));
    const name = cleanName(sample.path.split('/').at(-1) ?? '', 120, 'sample.mp4');
    return c.json(await keep(c.get('session'), { id, name, contentType: 'video/mp4', bytes: size, alt: null }));
  });
  return routes;
}

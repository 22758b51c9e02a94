import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { extname } from 'node:path';
import type { Context } from 'hono';

const types: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.svg': 'image/svg+xml',
};

/** Marks the place in login.html where the door says what went wrong. */
const doorSays = '<!-- the door says -->';

/** The page's own files, read once. A file that is not in the folder does not exist, whatever the address says. */
export function makePage() {
  const folder = new URL('./page/', import.meta.url);
  const files = new Map(
    readdirSync(folder)
      .filter((name) => extname(name) in types)
      .map((name) => {
        const body = readFileSync(new URL(name, folder), 'utf8');
        return [name, { body, etag: `"${createHash('sha256').update(body).digest('base64url').slice(0, 20)}"` }] as const;
      }),
  );
  return {
    names: [...files.keys()],
    serve(c: Context, name: string): Response {
      const file = files.get(name);
      if (file === undefined) return c.text('There is nothing here.', 404);
      c.header('cache-control', 'no-cache');
      c.header('etag', file.etag);
      if (c.req.header('if-none-match') === file.etag) return c.body(null, 304);
      return c.body(file.body, 200, { 'content-type': types[extname(name)] ?? 'text/plain' });
    },
    /** The login form; `sentence` is ours, never a visitor's. */
    login(c: Context, status: 200 | 400 | 401 | 429, sentence: string): Response {
      return c.html((files.get('login.html')?.body ?? '').replace(doorSays, sentence), status);
    },
  };
}

import type { AddressInfo } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { Hono } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import { apiRoutes, type RoomEnv, type RoomParts } from './api.ts';
import { makeDoor, type Passwords } from './door.ts';
import { serveFile } from './files.ts';
import { refuse, requestGuard, securityHeaders } from './guard.ts';
import { makePage } from './page-files.ts';
import type { StoredFile } from './store.ts';
import { addressOf } from './tries.ts';

/** How the room is reached. */
export interface Reach {
  host: string;
  /** 0 takes any free port. */
  port: number;
  passwords: Passwords;
  publicHosts: string[];
}

/** All of the room's routes, behind its guard and its door. */
export function roomRoutes(
  parts: RoomParts,
  reach: Reach,
  findFile: (id: string) => StoredFile | null,
  onError: (error: unknown) => void,
): Hono<RoomEnv> {
  const page = makePage();
  const door = makeDoor(reach.passwords, parts.store, parts.now);
  const routes = new Hono<RoomEnv>();
  routes.use('*', securityHeaders(), requestGuard(reach.host, reach.publicHosts));
  routes.onError((error, c) => {
    onError(error);
    return refuse(c, 500, 'failed', 'Something went wrong here. It was noted; please try again.');
  });

  for (const name of ['room.css', 'icon.svg']) routes.get(`/${name}`, (c) => page.serve(c, name));
  routes.post('/login', bodyLimit({ maxSize: 4096 }), async (c) => {
    const form = await c.req.parseBody();
    const text = (name: string) => (typeof form[name] === 'string' ? form[name] : '');
    const from = addressOf(c.env.incoming.socket.remoteAddress, c.req.header('x-forwarded-for'));
    const answer = await door.knock(c, from, { password: text('password'), name: text('name'), word: text('word') });
    if (answer.status === 'in') return c.redirect('/', 303);
    return page.login(c, ({ wrong: 401, shut: 429, incomplete: 400 } as const)[answer.status], answer.sentence);
  });
  routes.post('/leave', (c) => {
    door.leave(c);
    return c.redirect('/', 303);
  });
  routes.use('*', async (c, next) => {
    const visitor = door.visitor(c);
    c.set('visitor', visitor);
    if (!door.isShared || visitor !== null) return next();
    if (c.req.path === '/') return page.login(c, 200, '');
    return refuse(c, 401, 'no-password', 'Please enter the password of this room first.');
  });

  routes.get('/', (c) => page.serve(c, 'index.html'));
  for (const name of page.names) if (name.endsWith('.js')) routes.get(`/${name}`, (c) => page.serve(c, name));
  routes.get('/files/:id/:name', (c) => {
    const file = findFile(c.req.param('id'));
    if (file === null) return c.text('This file is no longer kept.', 404);
    return serveFile(parts.store.filesFolder, file, c.req.header('range'));
  });
  routes.route('/api', apiRoutes(parts));
  routes.all('*', (c) => refuse(c, 404, 'nothing-here', 'There is nothing at this address.'));
  return routes;
}

/** Listens; resolves with the address once it does, rejects when it cannot (port taken, no such address). */
export async function listen(app: Hono, reach: Reach): Promise<{ url: string; close(): Promise<void> }> {
  // An upload may take as long as it takes; its headers come at once or not: 20 s, chosen.
  const server = createAdaptorServer({ fetch: app.fetch, serverOptions: { requestTimeout: 0, headersTimeout: 20_000 } });
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(reach.port, reach.host, () => {
      server.off('error', reject);
      resolve();
    });
  });
  const { port, family, address } = server.address() as AddressInfo;
  const shown = address === '0.0.0.0' || address === '::' ? 'localhost' : family === 'IPv6' ? `[${address}]` : address;
  return {
    url: `http://${shown}:${port}`,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        if ('closeAllConnections' in server) server.closeAllConnections();
      }),
  };
}

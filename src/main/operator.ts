import { once } from 'node:events';
import type { AddressInfo } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { Hono } from 'hono';
import type { Bot } from '../bot/bot.ts';
import type { Metrics } from '../metrics/metrics.ts';

const longestAnswerMs = 2000;

/** How the bot is; `ok` false: something that it needs does not answer. */
export interface Health {
  ok: boolean;
  ledger: string;
  queue: { waiting: number; running: number };
  /** State by platform; one that cannot be reached is tried again. */
  platforms: ReturnType<Bot['platforms']>;
}

/** `GET /healthz` (200, or 503 when the bot is not well) and `GET /metrics` in Prometheus' text format. */
export function operatorRoutes(health: () => Promise<Health>, metrics: Metrics): Hono {
  return new Hono()
    .get('/healthz', async (c) => {
      const found = await health();
      return c.json(found, found.ok ? 200 : 503, { 'cache-control': 'no-store' });
    })
    .get('/metrics', async (c) =>
      c.body(await metrics.text(), 200, { 'content-type': metrics.contentType, 'cache-control': 'no-store' }),
    );
}

/** `ok`, or why not, of something that should answer at once. */
export async function promptly(work: Promise<unknown>): Promise<string> {
  const late = new Promise<string>((resolve) => setTimeout(resolve, longestAnswerMs, 'no answer').unref());
  return Promise.race([
    late,
    work.then(
      () => 'ok',
      (error: unknown) => String(error),
    ),
  ]);
}

/** Serves the operator's addresses on a port of their own. Rejects when it is taken. */
export async function serveOperator(app: Hono, host: string, port: number): Promise<{ url: string; close(): Promise<void> }> {
  const server = createAdaptorServer({ fetch: app.fetch });
  server.listen(port, host);
  await once(server, 'listening');
  const bound = server.address() as AddressInfo;
  return {
    url: `http://${bound.family === 'IPv6' ? `[${bound.address}]` : bound.address}:${bound.port}`,
    async close() {
      const closed = once(server, 'close');
      server.close();
      if ('closeAllConnections' in server) server.closeAllConnections();
      await closed;
    },
  };
}

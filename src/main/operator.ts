import { once } from 'node:events';
import type { AddressInfo } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { Hono } from 'hono';
import type { Bot } from '../bot/bot.ts';
import type { Metrics } from '../metrics/metrics.ts';

const longestAnswerMs = 2000; // chosen: below the patience of probes, some seconds

type Conditions = ReturnType<Bot['platforms']>;

/** What the bot says of itself. `ledger`: `ok`, or why it does not answer. */
export interface Condition {
  ledger: string;
  queue: { waiting: number; running: number };
  /** Empty until the bot is made. */
  platforms: Conditions;
}

/**
 * Whether the process is worth keeping: the ledger answers, and not all platforms refuse the bot for good. One that is away, or the loss of
 * one among others, is nothing that a restart mends.
 */
const isAlive = ({ ledger, platforms }: Omit<Condition, 'queue'>) => {
  const all = Object.values(platforms);
  return ledger === 'ok' && (all.length === 0 || all.some(({ state }) => state !== 'refused'));
};

/** Whether all of it works: the ledger answers and every platform is up. */
const isReady = ({ ledger, platforms }: Omit<Condition, 'queue'>) => {
  const all = Object.values(platforms);
  return ledger === 'ok' && all.length > 0 && all.every(({ state }) => state === 'up');
};

const statesOf = (platforms: Conditions) =>
  Object.fromEntries(Object.entries(platforms).map(([name, { state }]) => [name, state]));

/**
 * `GET /healthz` (503 when the process had better be started anew), `GET /readyz` (503 while anything that the bot needs is missing, with
 * what and why) and `GET /metrics` in Prometheus' text format.
 */
export function operatorRoutes(condition: () => Promise<Condition>, metrics: Metrics): Hono {
  const fresh = { 'cache-control': 'no-store' };
  return new Hono()
    .get('/healthz', async (c) => {
      const found = await condition();
      const ok = isAlive(found);
      return c.json({ ok, ...found, platforms: statesOf(found.platforms) }, ok ? 200 : 503, fresh);
    })
    .get('/readyz', async (c) => {
      const { ledger, platforms } = await condition();
      const ok = isReady({ ledger, platforms });
      return c.json({ ok, ledger, platforms }, ok ? 200 : 503, fresh);
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

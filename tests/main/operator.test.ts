import { expect, it } from 'vitest';
import { type Condition, operatorRoutes } from '../../src/main/operator.ts';
import { createMetrics } from '../../src/metrics/metrics.ts';

const up = { state: 'up', why: null } as const;
const away = { state: 'unreachable', why: 'no route' } as const;
const refused = { state: 'refused', why: 'put a new token into DISCORD_TOKEN' } as const;
const starting = { state: 'starting', why: null } as const;

it.each<[string, Partial<Condition>, number, number]>([
  ['all is up', { platforms: { discord: up, slack: up } }, 200, 200],
  ['nothing is made yet', { platforms: {} }, 200, 503],
  ['one is starting', { platforms: { discord: starting } }, 200, 503],
  ['the only platform is away, which no restart mends', { platforms: { discord: away } }, 200, 503],
  ['one of two refuses the bot', { platforms: { discord: refused, slack: up } }, 200, 503],
  ['one refuses the bot and the other is away', { platforms: { discord: refused, slack: away } }, 200, 503],
  ['all refuse the bot', { platforms: { discord: refused, slack: refused } }, 503, 503],
  ['the ledger does not answer', { ledger: 'no answer', platforms: { discord: up } }, 503, 503],
])('%s', async (_, change, alive, ready) => {
  const condition: Condition = { ledger: 'ok', queue: { waiting: 0, running: 0 }, platforms: {}, ...change };
  const metrics = createMetrics();
  metrics.watchPlatforms(() => condition.platforms);
  const routes = operatorRoutes(async () => condition, metrics);
  const [health, readiness] = [await routes.request('/healthz'), await routes.request('/readyz')];
  expect([health.status, readiness.status]).toEqual([alive, ready]);
  expect(await readiness.json()).toEqual({ ok: ready === 200, ledger: condition.ledger, platforms: condition.platforms });
  const states = Object.fromEntries(Object.entries(condition.platforms).map(([name, { state }]) => [name, state]));
  expect(await health.json()).toMatchObject({ ok: alive === 200, ledger: condition.ledger, platforms: states });
  const text = await (await routes.request('/metrics')).text();
  for (const [name, state] of Object.entries(states)) {
    expect(text).toContain(`quarterview_platform_state{platform="${name}",state="${state}"} 1`);
    expect(text.match(new RegExp(`quarterview_platform_state\\{platform="${name}",.*\\} 1`, 'g'))).toHaveLength(1);
  }
});

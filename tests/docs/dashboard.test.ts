import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { createMetrics } from '../../src/metrics/metrics.ts';

interface Dashboard {
  panels: {
    title: string;
    gridPos: { x: number; y: number; w: number; h: number };
    targets: { expr: string; legendFormat: string }[];
  }[];
}
const dashboard = JSON.parse(readFileSync(new URL('../../deploy/dashboard.json', import.meta.url), 'utf8')) as Dashboard;
const targets = dashboard.panels.flatMap(({ targets }) => targets);

/** Names of the lines of /metrics with the labels they have, after everything has happened once. */
async function served(): Promise<Map<string, Set<string>>> {
  const metrics = createMetrics();
  metrics.received();
  metrics.judged('fix', [{ rule: 'view', severity: 'fix' }], { pose: 1 });
  metrics.failed('clip-missing');
  metrics.retried('act');
  metrics.answered(3);
  metrics.watchQueue(() => ({ waiting: 1, running: 1 }));
  metrics.watchPlatforms(() => ({ room: { state: 'up' } }));
  const lines = new Map<string, Set<string>>();
  for (const [, name, labels = ''] of (await metrics.text()).matchAll(/^(\w+)(?:\{(.*)\})? \S+$/gm)) {
    const known = lines.get(name!) ?? new Set();
    for (const [, label] of labels.matchAll(/(\w+)="/g)) known.add(label!);
    lines.set(name!, known);
  }
  return lines;
}

it('asks only for metrics and labels that are served', async () => {
  const lines = await served();
  for (const { expr, legendFormat } of targets) {
    const names = [...expr.matchAll(/quarterview_\w+/g)].map(([name]) => name);
    expect(names.length, expr).toBeGreaterThan(0);
    for (const name of names) expect([...lines.keys()], expr).toContain(name);
    const has = new Set(names.flatMap((name) => [...lines.get(name)!]));
    const asked = [
      ...[...expr.matchAll(/\{([^}]*)\}/g)].flatMap(([, inner]) => [...inner!.matchAll(/(\w+)=/g)].map(([, label]) => label!)),
      ...[...expr.matchAll(/\bby \(([\w, ]+)\)/g)].flatMap(([, inner]) => inner!.split(/, */)),
      ...[...legendFormat.matchAll(/\{\{(\w+)\}\}/g)].map(([, label]) => label!),
    ];
    expect(
      asked.filter((label) => !has.has(label)),
      expr,
    ).toEqual([]);
  }
});

it('shows every metric that the bot counts', async () => {
  const text = JSON.stringify(targets);
  const families = new Set([...(await served()).keys()].map((name) => name.replace(/_(bucket|sum|count)$/, '')));
  expect([...families].filter((name) => !text.includes(name))).toEqual([]);
});

it('lays its panels beside each other', () => {
  const boxes = dashboard.panels.map(({ gridPos }) => gridPos);
  for (const [i, a] of boxes.entries()) {
    expect(a.x + a.w).toBeLessThanOrEqual(24); // Grafana's grid is 24 wide
    for (const b of boxes.slice(i + 1))
      expect(a.x + a.w <= b.x || b.x + b.w <= a.x || a.y + a.h <= b.y || b.y + b.h <= a.y).toBe(true);
  }
});

import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { judge } from '../judge/judge.ts';
import { loadRules } from '../settings/load.ts';
import { type ChangeName, changedClip, changes } from './changed-clips.ts';
import { classRight, figures, type Reliability, type Row, reliabilities } from './figures.ts';
import { readLabels } from './labels.ts';
import { measuringPool, projectPath } from './measured-clips.ts';

const usage = `evaluate LABELS.json... [--json] [--verbose] [--as ${Object.keys(changes).join('|')}]`;
const isChange = (name: string): name is ChangeName => Object.hasOwn(changes, name);

function table(groups: Map<string, Row[]>): string {
  const all = [...groups].map(([name, rows]) => ({ name, ...figures(rows) }));
  const keys = Object.keys(all[0] ?? {}).filter((key) => key !== 'name') as (keyof ReturnType<typeof figures>)[];
  const show = (key: string, v: number | null) =>
    v === null || Number.isNaN(v)
      ? '-'
      : key === 'clips'
        ? String(v)
        : key.endsWith('Deg')
          ? v.toFixed(1)
          : `${(100 * v).toFixed(0)} %`;
  const lines = [['', ...all.map((g) => g.name)], ...keys.map((key) => [key, ...all.map((g) => show(key, g[key]))])];
  const widths = lines[0]!.map((_, i) => Math.max(...lines.map((line) => line[i]!.length)));
  return lines
    .map((line) => line.map((cell, i) => (i === 0 ? cell.padEnd(widths[i]!) : cell.padStart(widths[i]!))).join('  '))
    .join('\n');
}

function reliabilityTable(source: string, tables: readonly Reliability[]): string {
  return tables
    .map(({ name, bins }) => {
      const lines = bins.map(({ from, to, count, said, right }) => {
        const [low, high] = to > 1.5 ? [`${from}`, `${to} degrees`] : [from.toFixed(2), Math.min(1, to).toFixed(2)];
        const meant = to > 1.5 ? `${said.toFixed(1)}` : `${(100 * said).toFixed(0)} %`;
        return `  ${`${low} to ${high}`.padEnd(18)} ${String(count).padStart(4)} clips, said ${meant.padStart(5)}, right ${(100 * right).toFixed(0)} %`;
      });
      return [`${source}: ${name}`, ...lines].join('\n');
    })
    .join('\n');
}

function remark(row: Row): string {
  const { label, facts, judgement } = row;
  const view = facts.view.known ? `${facts.view.value.azimuthDeg} ±${facts.view.spread}` : facts.view.reason;
  const lift = facts.lift.known ? `${facts.lift.value} ${facts.lift.confidence}` : facts.lift.reason;
  const window = facts.liftWindow.known ? `${facts.liftWindow.value.startS}-${facts.liftWindow.value.endS}` : '-';
  const reps = facts.reps.known ? facts.reps.value.length : facts.reps.reason;
  const rules = judgement.findings.map((f) => `${f.rule}${f.severity === 'fix' ? '!' : ''}`).join(' ');
  return `${basename(label.file)}: ${label.lift} -> ${lift}; view ${label.azimuthDeg} -> ${view}${classRight(row) === false ? ' WRONG' : ''}; reps ${label.reps} -> ${reps}; ${label.startS}-${label.endS} -> ${window}; ${label.defect ?? ''} -> ${judgement.verdict} [${rules}] cannot tell [${judgement.cannotTell.map((c) => c.rule).join(' ')}]`;
}

async function evaluate(files: string[], options: { json: boolean; verbose: boolean; as: ChangeName | null }): Promise<void> {
  const settings = loadRules(projectPath('config/rules.yaml'));
  const { pool, measure } = measuringPool(availableParallelism());
  const labels = files.flatMap(readLabels);
  const rows: Row[] = [];
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-evaluate-'));
  const next = labels.values();
  const run = async () => {
    for (const given of next) {
      const label = options.as === null ? given : await changedClip(given, options.as, folder);
      if (label === null) continue;
      const answer = await measure(label.file);
      if (answer.kind !== 'facts') {
        console.error(`${basename(label.file)}: ${answer.kind === 'failed' ? answer.code : answer.kind}`);
        continue;
      }
      const row = { label, facts: answer.facts, judgement: judge(answer.facts, { settings }) };
      rows.push(row);
      if (options.verbose) console.error(remark(row));
      if (label !== given) rmSync(label.file);
    }
  };
  try {
    await Promise.all(Array.from({ length: pool.size }, run));
  } finally {
    await pool.close();
    rmSync(folder, { recursive: true });
  }
  const groups = new Map<string, Row[]>();
  for (const row of rows)
    for (const name of [row.label.source, `${row.label.source} ${row.label.lift}`])
      groups.set(name, [...(groups.get(name) ?? []), row]);
  const sorted = new Map([...groups].sort(([a], [b]) => (a < b ? -1 : 1)));
  const bySource = [...new Set(rows.map(({ label }) => label.source))]
    .sort()
    .map((source) => ({ source, tables: reliabilities(rows.filter(({ label }) => label.source === source)) }));
  console.log(
    options.json
      ? JSON.stringify({
          ...Object.fromEntries([...sorted].map(([name, group]) => [name, figures(group)])),
          reliability: bySource,
        })
      : [table(sorted), ...bySource.map(({ source, tables }) => reliabilityTable(source, tables))].join('\n\n'),
  );
}

try {
  const options = {
    json: { type: 'boolean', default: false },
    verbose: { type: 'boolean', default: false },
    as: { type: 'string' },
  } as const;
  const { values, positionals } = parseArgs({ options, allowPositionals: true });
  const { as = null, ...rest } = values;
  if (positionals.length === 0) throw new Error('name at least one file of labels');
  if (as !== null && !isChange(as)) throw new Error(`there is no change "${as}"`);
  await evaluate(positionals, { ...rest, as });
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

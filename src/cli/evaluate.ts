import { availableParallelism } from 'node:os';
import { basename } from 'node:path';
import { parseArgs } from 'node:util';
import type { Facts } from '../facts/facts.ts';
import { viewClassOf, wrapDeg } from '../facts/view.ts';
import { judge } from '../judge/judge.ts';
import type { Judgement } from '../judge/judgement.ts';
import { loadRules } from '../settings/load.ts';
import { type Label, readLabels } from './labels.ts';
import { measuringPool, projectPath } from './measured-clips.ts';

const usage = 'evaluate LABELS.json... [--json] [--verbose]';
/** Labels by eye: a class counts as right when the label is within this of its edge, degrees. */
const toleranceDeg = 10;

interface Row {
  label: Label;
  facts: Facts;
  judgement: Judgement;
}

/** Rules that answer for a defect of the labels; a view defect carries its azimuth in the name. */
const answers: Record<string, string[]> = {
  floor: ['camera-height'],
  leadin: ['dead-time', 'clip-length'],
  tail: ['dead-time', 'clip-length'],
  far: ['distance', 'lifter-size'],
  handscut: ['parts-in-frame'],
  feetcut: ['parts-in-frame'],
  shake: ['steadiness'],
  dark: ['light'],
  foreground: ['obstruction'],
  sideways: ['orientation'],
};
const caught = ({ label, judgement }: Row) => {
  const wanted = label.defect?.startsWith('view') ? ['view'] : (answers[label.defect ?? ''] ?? []);
  return judgement.findings.some((f) => f.severity === 'fix' && wanted.includes(f.rule));
};

const azimuthError = ({ label, facts }: Row) =>
  label.azimuthDeg !== null && facts.view.known ? Math.abs(wrapDeg(facts.view.value.azimuthDeg - label.azimuthDeg)) : null;

function classRight({ label, facts }: Row): boolean | null {
  if (label.azimuthDeg === null) return null;
  if (!facts.view.known) return false;
  const slack = label.source === 'real' ? [-toleranceDeg, 0, toleranceDeg] : [0];
  return slack.some((deg) => viewClassOf(label.azimuthDeg! + deg) === (facts.view.known && facts.view.value.class));
}

function sideRight({ label, facts }: Row): boolean | null {
  if (label.azimuthDeg === null || !facts.view.known) return null;
  const across = Math.abs(Math.sin((label.azimuthDeg * Math.PI) / 180));
  return across < 0.3 ? null : Math.sign(wrapDeg(label.azimuthDeg)) === Math.sign(facts.view.value.azimuthDeg);
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Figures of a group of clips; null where no clip has the label. */
function figures(rows: Row[]) {
  const share = (values: (boolean | null)[]) => {
    const told = values.filter((v) => v !== null);
    return told.length === 0 ? null : told.filter((v) => v).length / told.length;
  };
  const errors = rows.map(azimuthError).filter((v) => v !== null);
  const standing = rows.filter((r) => r.label.lift !== 'other');
  const counted = standing.filter((r) => r.label.reps !== null);
  const off = (r: Row) => (r.facts.reps.known ? Math.abs(r.facts.reps.value.length - r.label.reps!) : Number.POSITIVE_INFINITY);
  const timed = (key: 'startS' | 'endS', within: number) =>
    share(
      counted.map((r) =>
        r.label[key] === null
          ? null
          : r.facts.liftWindow.known && Math.abs(r.facts.liftWindow.value[key] - r.label[key]!) <= within,
      ),
    );
  const judged = rows.filter((r) => r.label.defect !== null);
  const elevation = rows.flatMap((r) =>
    r.label.elevationDeg !== null && r.facts.camera.elevationDeg.known
      ? [Math.abs(r.facts.camera.elevationDeg.value - r.label.elevationDeg)]
      : [],
  );
  const distance = rows.flatMap((r) =>
    r.label.distanceM !== null && r.facts.camera.distanceM.known
      ? [Math.abs(r.facts.camera.distanceM.value / r.label.distanceM - 1)]
      : [],
  );
  return {
    clips: rows.length,
    viewClass: share(standing.map(classRight)),
    viewSide: share(standing.map(sideRight)),
    azimuthMedianDeg: median(errors),
    azimuthMeanDeg: errors.reduce((a, b) => a + b, 0) / errors.length,
    insideSpread: share(
      rows.map((r) => (azimuthError(r) === null || !r.facts.view.known ? null : azimuthError(r)! <= (r.facts.view.spread ?? 0))),
    ),
    lift: share(
      rows.map((r) =>
        r.label.lift === 'other'
          ? !(r.facts.lift.known && r.facts.lift.value !== 'other' && (r.facts.lift.confidence ?? 1) >= 0.8)
          : r.facts.lift.known && r.facts.lift.value === r.label.lift,
      ),
    ),
    repsExact: share(counted.map((r) => off(r) === 0)),
    repsOffByOne: share(counted.map((r) => off(r) <= 1)),
    start04: timed('startS', 0.4),
    end04: timed('endS', 0.4),
    elevationMedianDeg: median(elevation),
    distanceMedian: median(distance),
    defectsCaught: share(judged.filter((r) => r.label.defect !== 'none').map(caught)),
    cleanSentBack: share(judged.filter((r) => r.label.defect === 'none').map((r) => r.judgement.verdict === 'fix')),
  };
}

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

function remark(row: Row): string {
  const { label, facts, judgement } = row;
  const view = facts.view.known ? `${facts.view.value.azimuthDeg} ±${facts.view.spread}` : facts.view.reason;
  const lift = facts.lift.known ? `${facts.lift.value} ${facts.lift.confidence}` : facts.lift.reason;
  const window = facts.liftWindow.known ? `${facts.liftWindow.value.startS}-${facts.liftWindow.value.endS}` : '-';
  const reps = facts.reps.known ? facts.reps.value.length : facts.reps.reason;
  const rules = judgement.findings.map((f) => `${f.rule}${f.severity === 'fix' ? '!' : ''}`).join(' ');
  return `${basename(label.file)}: ${label.lift} -> ${lift}; view ${label.azimuthDeg} -> ${view}${classRight(row) === false ? ' WRONG' : ''}; reps ${label.reps} -> ${reps}; ${label.startS}-${label.endS} -> ${window}; ${label.defect ?? ''} -> ${judgement.verdict} [${rules}] cannot tell [${judgement.cannotTell.map((c) => c.rule).join(' ')}]`;
}

async function evaluate(files: string[], options: { json: boolean; verbose: boolean }): Promise<void> {
  const settings = loadRules(projectPath('config/rules.yaml'));
  const { pool, measure } = measuringPool(availableParallelism());
  const labels = files.flatMap(readLabels);
  const rows: Row[] = [];
  const next = labels.values();
  const run = async () => {
    for (const label of next) {
      const answer = await measure(label.file);
      if (answer.kind !== 'facts') {
        console.error(`${basename(label.file)}: ${answer.kind === 'failed' ? answer.code : answer.kind}`);
        continue;
      }
      const row = { label, facts: answer.facts, judgement: judge(answer.facts, { settings }) };
      rows.push(row);
      if (options.verbose) console.error(remark(row));
    }
  };
  await Promise.all(Array.from({ length: pool.size }, run));
  await pool.close();
  const groups = new Map<string, Row[]>();
  for (const row of rows)
    for (const name of [row.label.source, `${row.label.source} ${row.label.lift}`])
      groups.set(name, [...(groups.get(name) ?? []), row]);
  const sorted = new Map([...groups].sort(([a], [b]) => (a < b ? -1 : 1)));
  console.log(
    options.json ? JSON.stringify(Object.fromEntries([...sorted].map(([name, group]) => [name, figures(group)]))) : table(sorted),
  );
}

try {
  const options = { json: { type: 'boolean', default: false }, verbose: { type: 'boolean', default: false } } as const;
  const { values, positionals } = parseArgs({ options, allowPositionals: true });
  if (positionals.length === 0) throw new Error('name at least one file of labels');
  await evaluate(positionals, values);
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

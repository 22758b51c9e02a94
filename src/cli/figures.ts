import type { Facts } from '../facts/facts.ts';
import { heightClassOf } from '../facts/height.ts';
import { viewClassOf, wrapDeg } from '../facts/view.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Label } from './labels.ts';

/** Labels by eye: a class counts as right when the label is within this of its edge, degrees. */
const toleranceDeg = 10;

/** A labelled clip as it was measured and judged. */
export interface Row {
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

/** Whether the view's class is the label's; null without a label. */
export function classRight({ label, facts }: Row): boolean | null {
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

function heightRight({ label, facts }: Row): boolean | null {
  if (label.heightM === null || label.lift === 'other') return null;
  const { heightClass } = facts.camera;
  return heightClass.known && heightClass.value === heightClassOf(label.heightM);
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

/** Figures of a group of clips; null where no clip has the label. */
export function figures(rows: Row[]) {
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
    start10: timed('startS', 1),
    end04: timed('endS', 0.4),
    end10: timed('endS', 1),
    elevationMedianDeg: median(elevation),
    heightClass: share(rows.map(heightRight)),
    distanceMedian: median(distance),
    defectsCaught: share(judged.filter((r) => r.label.defect !== 'none').map(caught)),
    cleanSentBack: share(judged.filter((r) => r.label.defect === 'none').map((r) => r.judgement.verdict === 'fix')),
  };
}

/** How sure a measurement said it was, and how often it was right: bounds of the bins, and what falls in each. */
export interface Reliability {
  name: string;
  bins: { from: number; to: number; count: number; said: number; right: number }[];
}

function reliability(name: string, bounds: readonly number[], told: readonly { said: number; right: boolean }[]): Reliability {
  const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  const bins = bounds.slice(1).flatMap((to, at) => {
    const from = bounds[at]!;
    const inside = told.filter(({ said }) => said >= from && said < to);
    if (inside.length === 0) return [];
    return [
      {
        from,
        to,
        count: inside.length,
        said: mean(inside.map((t) => t.said)),
        right: mean(inside.map((t) => (t.right ? 1 : 0))),
      },
    ];
  });
  return { name, bins };
}

/**
 * Whether what was said of the own sureness holds. For the view, in degrees of spread: the label should lie inside nine times in ten, whatever the
 * spread. For lift and reps, in confidence: the share of right ones should be what was said.
 */
export function reliabilities(rows: readonly Row[]): Reliability[] {
  const view = rows.flatMap((row) => {
    const error = azimuthError(row);
    const { spread } = row.facts.view.known ? row.facts.view : {};
    return error === null || spread === undefined ? [] : [{ said: spread, right: error <= spread }];
  });
  const lift = rows.flatMap(({ facts, label }) =>
    facts.lift.known ? [{ said: facts.lift.confidence ?? 1, right: facts.lift.value === label.lift }] : [],
  );
  const reps = rows.flatMap(({ facts, label }) =>
    facts.reps.known && label.reps !== null && label.lift !== 'other'
      ? [{ said: facts.reps.confidence ?? 1, right: facts.reps.value.length === label.reps }]
      : [],
  );
  const shares = [0, 0.5, 0.7, 0.8, 0.9, 0.95, 1.01];
  return [
    reliability('label inside the spread of the view', [0, 10, 12, 15, 20, 30, 91], view),
    reliability('lift right, by its confidence', shares, lift),
    reliability('reps exact, by their confidence', shares, reps),
  ];
}

import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts, Moment, Part, PartFacts, Rep } from '../../src/facts/facts.ts';
import { joint, pointWidth } from '../pose/types.ts';
import { nearest, type Sample } from './course.ts';

/**
 * Joints that stand for a part, and how near to the picture's edge (share of its side) they count as outside: the model draws a joint that is
 * outside at the edge, the ends of a limb (fingers, toes) nearer than the joint itself. A part is outside when any of its joints is.
 */
const parts: Record<Part, { rows: readonly number[]; edge: number; ends?: readonly number[]; endsEdge?: number }> = {
  head: { rows: [joint.nose, joint.earL, joint.earR], edge: 0.008 },
  shoulders: { rows: [joint.shoulderL, joint.shoulderR], edge: 0.008 },
  elbows: { rows: [joint.elbowL, joint.elbowR], edge: 0.008 },
  hands: { rows: [joint.wristL, joint.wristR], edge: 0.008, ends: [joint.indexL, joint.indexR], endsEdge: 0.03 },
  hips: { rows: [joint.hipL, joint.hipR], edge: 0.008 },
  knees: { rows: [joint.kneeL, joint.kneeR], edge: 0.008 },
  feet: {
    rows: [joint.ankleL, joint.ankleR],
    edge: 0.015,
    ends: [joint.toeL, joint.toeR, joint.heelL, joint.heelR],
    endsEdge: 0.02,
  },
  bar: { rows: [joint.wristL, joint.wristR], edge: 0.008, ends: [joint.indexL, joint.indexR], endsEdge: 0.03 },
};
type PartJoints = (typeof parts)[Part];

/** A joint that is not seen this near to the edge (share of the side) is outside: what hides it is the edge. */
const unseenEdge = 0.06;
/** Visibility from which a joint is seen, and fewest poses that tell a moment. */
const [seen, leastSamples] = [0.3, 6];

interface Frame {
  widthPx: number;
  heightPx: number;
}

function outside(sample: Sample, { rows, edge, ends = [], endsEdge = edge }: PartJoints, { widthPx, heightPx }: Frame): boolean {
  const over = (row: number, share: number) => {
    const at = row * pointWidth;
    const [x, y] = [sample.pose.points[at]!, sample.pose.points[at + 1]!];
    const near = sample.pose.points[at + 3]! < seen ? Math.max(share, unseenEdge) : share;
    const [ex, ey] = [near * widthPx, near * heightPx];
    return x < ex || y < ey || x > widthPx - ex || y > heightPx - ey;
  };
  return rows.some((row) => over(row, edge)) || ends.some((row) => over(row, endsEdge));
}

const hidden = (sample: Sample, rows: readonly number[]) => rows.every((row) => sample.pose.points[row * pointWidth + 3]! < seen);

function partOf(
  samples: readonly Sample[],
  reps: readonly Rep[],
  part: PartJoints,
  frame: Frame,
  lockoutIsTurn: boolean,
): Fact<PartFacts> {
  const out = samples.filter((s) => outside(s, part, frame));
  const away = samples.filter((s) => outside(s, part, frame) || hidden(s, part.rows));
  const outsideShare = out.length / samples.length;
  const lost = (moment: Moment, times: number[]): Moment[] =>
    times.filter((t) => outside(nearest(samples, t), part, frame)).length > times.length / 2 ? [moment] : [];
  const value: PartFacts = {
    share: 1 - away.length / samples.length,
    outsideShare,
    lostAt: [
      ...lost(
        'start',
        reps.map((r) => r.startS),
      ),
      ...(lockoutIsTurn
        ? []
        : lost(
            'turn',
            reps.map((r) => r.turnS),
          )),
      ...lost(
        'lockout',
        reps.map((r) => (lockoutIsTurn ? r.turnS : r.endS)),
      ),
    ],
  };
  // sure near none and near half and more, unsure between
  const confidence = outsideShare < 0.02 ? 0.97 : Math.min(0.97, 0.6 + 1.2 * outsideShare);
  return known(value, { confidence: Math.round(confidence * 100) / 100 });
}

/** For each part the share of the lift in which it is in the picture, and the moments at which it is outside. `lockoutIsTurn`: press and deadlift. */
export function inFrameOf(
  samples: readonly Sample[],
  reps: readonly Rep[],
  frame: Frame,
  lockoutIsTurn: boolean,
): Facts['inFrame'] {
  const one = (part: Part): Fact<PartFacts> =>
    samples.length < leastSamples || reps.length === 0
      ? unknown('too-few-frames')
      : partOf(samples, reps, parts[part], frame, lockoutIsTurn);
  return {
    head: one('head'),
    shoulders: one('shoulders'),
    elbows: one('elbows'),
    hands: one('hands'),
    hips: one('hips'),
    knees: one('knees'),
    feet: one('feet'),
    bar: one('bar'),
  };
}

/** They are hidden in half of the looks; measured on 200 clips: at most 0.42 with nothing before them, 0.54 to 0.89 behind a box. How sure that is at least. */
const [coveredShare, leastSure] = [0.5, 0.8];

/** Whether something in front hides the lower legs through the whole lift while they are inside the picture. Poses of the heavy model. */
export function obstructionOf(samples: readonly Sample[], frame: Frame): Facts['obstruction'] {
  if (samples.length < leastSamples) return unknown('too-few-frames');
  const rows = [joint.ankleL, joint.ankleR];
  const toes = [joint.toeL, joint.toeR];
  const best = (s: Sample, of: readonly number[]) => Math.max(...of.map((row) => s.pose.points[row * pointWidth + 3]!));
  const inside = samples.filter((s) => !outside(s, parts.feet, frame));
  if (inside.length < samples.length / 2) return known({ kind: 'none', share: 0 }, { confidence: 0.6 });
  const covered = inside.filter((s) => best(s, rows) < 0.35 && best(s, toes) < 0.3).length / inside.length;
  if (covered < coveredShare)
    return known({ kind: 'none', share: 0 }, { confidence: Math.round((1 - 0.5 * covered) * 100) / 100 });
  // shins and feet are a quarter of the stature (Drillis and Contini 1966: knee height 0.285)
  return known(
    { kind: 'bottom', share: 0.25 },
    { confidence: Math.round(Math.min(0.95, leastSure + 0.3 * (covered - coveredShare)) * 100) / 100 },
  );
}

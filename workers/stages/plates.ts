import type { Point } from '../pose/types.ts';
import { barBehindHipsM, barInView, type End, handsOnBar, type Setting } from './bar-in-view.ts';
import type { Sample, Square } from './course.ts';
import { edgesIn, outlinesOf, sharesOf } from './outlines.ts';
import { steps } from './series.ts';
import { patchOf, steadyMean } from './steady-mean.ts';

/** A patch around an end of the bar: its side, the radius that a plate is expected to have in it, and how far from its middle one is looked for, px. */
const patch = { sidePx: 128, radiusPx: 24, reachPx: 24 };
/** Farther or nearer by so many steps (of the logarithm), turned by so many steps (degrees), and held so many px aside. */
const tried = { stretch: 0.02, stretches: 12, turnDeg: 2, turns: 6, asidePx: 18 };
/**
 * What is known before: standard deviations of the stretch's logarithm (statures, and what the pose model makes of them), of the azimuth, degrees, and
 * of where the hands hold the bar, px of a patch (0.1 m). Measured on rendered clips, rounded.
 */
const before = { stretch: 0.08, turnDeg: 4, asidePx: 0.1 * (patch.radiusPx / 0.225) };
/** How much an outline tells: by its share beyond what many a place has. Chosen on rendered clips. */
const outlineTells = { from: 0.45, weight: 14 };
/** Plates are found where they tell the stretch to this standard deviation of its logarithm. Measured on rendered clips: 0.045 off by then. */
const mostSpread = 0.05;
/** Looks taken, at most and at least. */
const looks = { most: 24, least: 4 };

/** What plates tell, `stretch`: how many times as far away the lifter is as one of average stature would be who looks as large. */
export interface Plates {
  stretch: number;
  azimuthDeg: number;
}

/** What is seen around one end of the bar: how much of a stack of plates, by stretch and place; where the patch's middle is and its step, picture px. */
interface SeenEnd {
  shares: Float32Array[];
  middle: Point;
  stepPx: number;
}

const bothWays = (count: number, step: number) => steps(-count * step, count * step, step);
const stretches = bothWays(tried.stretches, tried.stretch).map(Math.exp);
const turnsDeg = bothWays(tried.turns, tried.turnDeg);

/**
 * The largest plates of a bar are 450 mm wide and 1.37 m apart, whoever lifts them: where they are seen they tell how far away the lifter is, and where
 * the camera stands around them. Both ends of the bar are cut out of each look and laid over each other, so that what stands behind is blurred away;
 * the stretch and turn whose outlines are seen there best are right. null where no plates are found, or much smaller ones.
 */
export function platesOf(samples: readonly Sample[], setting: Setting): Plates | null {
  // other lifts hold the bar anywhere
  if (setting.lift === 'other') return null;
  const held = samples.flatMap(({ pose, square }) => (square === undefined ? [] : [{ hands: handsOnBar(pose), square }]));
  const some = held.filter((_, i) => i % Math.ceil(held.length / looks.most) === 0);
  if (some.length < looks.least) return null;
  const behindM = barBehindHipsM(
    samples.map(({ pose }) => pose),
    setting,
  );
  const inView = barInView(setting, behindM);
  const { hands } = some[some.length >> 1]!;
  const seen = { near: seenEnd(some, inView, 'near', hands), far: seenEnd(some, inView, 'far', hands) };
  const all = stretches.flatMap((stretch, i) =>
    turnsDeg.map((turnDeg) => likelihoodOf(seen, inView, hands, { stretch, turnDeg }, i)),
  );
  const highest = all.reduce((max, { log }) => Math.max(max, log), Number.NEGATIVE_INFINITY);
  const weights = all.map(({ log }) => Math.exp(log - highest));
  const sum = weights.reduce((a, b) => a + b, 0);
  const mean = (of: (one: Fit) => number) => all.reduce((total, one, i) => total + weights[i]! * of(one), 0) / sum;
  const stretch = mean((one) => Math.log(one.stretch));
  const spread = Math.sqrt(mean((one) => (Math.log(one.stretch) - stretch) ** 2));
  if (spread > mostSpread) return null;
  return { stretch: Math.exp(stretch), azimuthDeg: setting.azimuthDeg + mean((one) => one.turnDeg) };
}

function seenEnd(
  some: readonly { hands: Point; square: Square }[],
  inView: ReturnType<typeof barInView>,
  end: End,
  hands: Point,
): SeenEnd {
  const { middle, radiusPx } = inView(hands, end, 1, 0);
  const stepPx = radiusPx / patch.radiusPx;
  const patches = some.map((one) => patchOf(one.square, inView(one.hands, end, 1, 0).middle, { sidePx: patch.sidePx, stepPx }));
  const changes = edgesIn(steadyMean(patches, patch.sidePx), patch.sidePx);
  const shares = stretches.map((stretch) =>
    sharesOf(changes, patch.sidePx, outlinesOf(inView(hands, end, stretch, 0), stepPx), patch.reachPx),
  );
  return { shares, middle, stepPx };
}

/** A stretch and a turn, and how likely they are (logarithm). */
type Fit = { stretch: number; turnDeg: number; log: number };

/** How likely one stretch, the nth, and turn are, with the hands where most of both stacks is seen then. */
function likelihoodOf(
  seen: Record<End, SeenEnd>,
  inView: ReturnType<typeof barInView>,
  hands: Point,
  { stretch, turnDeg }: Pick<Fit, 'stretch' | 'turnDeg'>,
  nth: number,
): Fit {
  const place = (end: End) => {
    const { middle } = inView(hands, end, stretch, turnDeg);
    const { stepPx, middle: from } = seen[end];
    return { x: Math.round((middle.x - from.x) / stepPx), y: Math.round((middle.y - from.y) / stepPx) };
  };
  const at = { near: place('near'), far: place('far') };
  // what is aside by so many px of the near patch is aside by other ones of the far patch
  const perPx = { near: 1, far: seen.near.stepPx / seen.far.stepPx };
  const shareAt = (end: End, asideX: number, asideY: number) => {
    const u = at[end].x + Math.round(asideX * perPx[end]) + patch.reachPx;
    const v = at[end].y + Math.round(asideY * perPx[end]) + patch.reachPx;
    return u < 0 || v < 0 || u >= reach || v >= reach ? 0 : seen[end].shares[nth]![v * reach + u]!;
  };
  const prior = (Math.log(stretch) / before.stretch) ** 2 + (turnDeg / before.turnDeg) ** 2;
  let log = Number.NEGATIVE_INFINITY;
  for (let asideY = -tried.asidePx; asideY <= tried.asidePx; asideY++) {
    for (let asideX = -tried.asidePx; asideX <= tried.asidePx; asideX++) {
      const seenThere = beyond(shareAt('near', asideX, asideY)) + beyond(shareAt('far', asideX, asideY));
      const unlikely = prior + (asideX ** 2 + asideY ** 2) / before.asidePx ** 2;
      log = Math.max(log, outlineTells.weight * seenThere - unlikely / 2);
    }
  }
  return { stretch, turnDeg, log };
}

const reach = 2 * patch.reachPx + 1;
const beyond = (share: number) => Math.max(0, share - outlineTells.from);

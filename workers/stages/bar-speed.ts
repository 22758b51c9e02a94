import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { BarSpeed, Facts, LiftId, Rep, RepSpeed } from '../../src/facts/facts.ts';
import { joint, pointWidth } from '../pose/types.ts';
import type { FlowStep } from './bar-flow.ts';
import { pxPerMetre, type Sample, visibilityOf } from './course.ts';
import { even, median, ramp, type Signal, smooth } from './series.ts';
import { type WayUp, wayUpOf } from './way-up.ts';

type Lift = Exclude<LiftId, 'other'>;

/** What the bar's speed is told from. Samples of the lifter and `flow` as a still camera sees them, upright; no flow for a turned clip. */
export interface BarSeen {
  lift: LiftId;
  reps: readonly Rep[];
  /** Poses of the light model (every frame) and of the heavy one (chosen frames) in the lift. */
  light: readonly Sample[];
  close: readonly Sample[];
  flow: readonly FlowStep[];
  view: Facts['view'];
  camera: Facts['camera'];
  frame: { widthPx: number; heightPx: number };
}

/** Steps of the signals: as fine as most phones film. */
const stepS = 1 / 30;
/** Smoothing of the pose's height and of the flow's way, standard deviation. */
const sigmaS = { pose: 0.05, flow: 0.035 };
/** A slow way up is smoothed by this share of its time if that is more: noise is as large, and its speed small. */
const slowSigma = 0.05;
/**
 * Smoothing, and sampling at 15 frames a second (as much as a standard deviation of `samplingS`), lengthen a way up; it adds like a spread, in
 * squares: by `perSigma` standard deviations of both, with which ways of known times on rendered clips come out right.
 */
const blur = { samplingS: 0.03, perSigma: 4.2 };
/** The way up is looked for this long before and after the rep's own times. */
const aroundS = 0.3;
/** Stature for which the pose model's metres are right: the average of rendered people of 1.58 to 1.90 m whose stature was known. */
const modelStatureM = 1.73;
/** Half-width of 90 % of grown lifters around that stature, as a share: men and women together, 1.57 to 1.89 m (common practice, from memory). */
const statureSpread = 0.09;
/** How far from the bar's middle towards the camera the plates stand that are seen square from the side, metres. */
const nearPlateM = 0.6;

/**
 * From what moves in the picture to the bar, by lift, fitted on rendered clips with known bar paths. `pose`, `flow`: how much more the joints and the
 * patches rise than the bar (shoulders turn up with the trunk in a squat; hands and plates are nearer than the trunk that gives the scale).
 * `byFlow`: weight of the flow in the rise. `scale`: half-width of the 90 % interval of a clip's scale, as a share.
 */
const fitted: Record<Lift, { pose: number; flow: number; byFlow: number; scale: number }> = {
  squat: { pose: 1.1, flow: 1.19, byFlow: 0.3, scale: 0.1 },
  deadlift: { pose: 0.99, flow: 1, byFlow: 0.2, scale: 0.1 },
  press: { pose: 0.95, flow: 1, byFlow: 0.75, scale: 0.15 },
  bench: { pose: 1.04, flow: 1.1, byFlow: 0.7, scale: 0.2 },
};
/** Joints that ride with the bar. */
const ride: Record<Lift, readonly [number, number]> = {
  squat: [joint.shoulderL, joint.shoulderR],
  deadlift: [joint.shoulderL, joint.shoulderR],
  press: [joint.wristL, joint.wristR],
  bench: [joint.wristL, joint.wristR],
};
/** What seeing the lift square from the side, and the camera's tilt, add to the scale's spread (per sine of the elevation). */
const sideSpread = 0.1;
const tiltSpread = 0.3;
/** Fewest heavy looks for a scale. */
const leastLooks = 4;
const upFirst = (lift: Lift) => lift === 'deadlift' || lift === 'press';
const round = (v: number) => Math.round(v * 1000) / 1000;
const cosDeg = (deg: number) => Math.cos((deg * Math.PI) / 180);
const sinDeg = (deg: number) => Math.sin((deg * Math.PI) / 180);

/** Height of the joints that ride with the bar, pixels upwards. */
function heightPx({ pose }: Sample, [a, b]: readonly [number, number]): number {
  const [wa, wb] = [0.05 + visibilityOf(pose, a), 0.05 + visibilityOf(pose, b)];
  return -(wa * pose.points[a * pointWidth + 1]! + wb * pose.points[b * pointWidth + 1]!) / (wa + wb);
}

/** The pose's height through the lift: the light model's, stretched so that it travels as far as the heavy one's. */
function poseSignal({ light, close }: BarSeen, rows: readonly [number, number]): Signal | null {
  if (light.length < 8) return null;
  const signal = smooth(
    even(
      light.map((s) => s.timeS),
      light.map((s) => heightPx(s, rows)),
      stepS,
    ),
    sigmaS.pose,
  );
  const byTime = new Map(light.map((s) => [s.timeS, heightPx(s, rows)]));
  const pairs = close.flatMap((s) => (byTime.has(s.timeS) ? [[byTime.get(s.timeS)!, heightPx(s, rows)] as const] : []));
  const spreadOf = (of: 0 | 1) => {
    const mean = pairs.reduce((sum, p) => sum + p[of], 0) / pairs.length;
    return Math.sqrt(pairs.reduce((sum, p) => sum + (p[of] - mean) ** 2, 0));
  };
  const gain = pairs.length < 8 ? 1 : Math.min(1.5, Math.max(0.67, spreadOf(1) / Math.max(1e-6, spreadOf(0))));
  return { ...signal, values: signal.values.map((v) => v * gain) };
}

/** The flow's way, added up. */
function flowSignal({ flow }: BarSeen): Signal | null {
  if (flow.length < 8) return null;
  const timesS = [flow[0]!.fromS];
  const values = [0];
  for (const { toS, upPx } of flow) {
    timesS.push(toS);
    values.push(values.at(-1)! + upPx);
  }
  return smooth(even(timesS, values, stepS), sigmaS.flow);
}

/** How much more than the bar's middle the plates move that are seen from the side, which stand nearer; `square`: how far it is that side view, 0..1. */
function nearness(view: Facts['view'], camera: Facts['camera']): { near: number; square: number } {
  if (!view.known) return { near: 1, square: 0 };
  const square = ramp(Math.abs(sinDeg(view.value.azimuthDeg)), sinDeg(60), sinDeg(80));
  const distanceM = camera.distanceM.known ? camera.distanceM.value : 3;
  return { near: distanceM / Math.max(0.5 * distanceM, distanceM - square * nearPlateM), square };
}

/** Whether a wrist is outside the picture or at its edge at a time of the way up. */
function handsLeave({ light, frame }: BarSeen, way: WayUp): boolean {
  const inside = (v: number, size: number) => v > 0.008 * size && v < 0.992 * size;
  const during = light.filter((s) => s.timeS >= way.fromS && s.timeS <= way.toS);
  const out = during.filter(({ pose: { points } }) =>
    [joint.wristL, joint.wristR].some(
      (row) => !inside(points[row * pointWidth]!, frame.widthPx) || !inside(points[row * pointWidth + 1]!, frame.heightPx),
    ),
  );
  return out.length > 0.1 * during.length;
}

/** Half-widths of 90 % intervals of one rep against the others of its clip, as shares: where pose and flow agree, and how they grow as they part. */
const repSpread = { mean: 0.06, peak: 0.1, apart: 0.3 };
/** Pose and flow further apart than this (logarithm of their ratio) did not see the same bar: the rep is left out. */
const mostApart: Record<Lift, number> = { squat: 0.4, deadlift: 0.4, press: 0.5, bench: 0.42 };
/** How far apart they count as where there is but one of them. */
const oneWitness = 0.35;
/** Slowest and fastest mean that is a rep of one of the lifts, m/s (common practice). */
const plausibleMps = [0.04, 2] as const;

interface Scale {
  /** Picture pixels of a metre of the model's stature that stands upright at the lifter. */
  pxPerM: number;
  near: number;
}

/** The way up in a signal that was smoothed by `sigmaS`, smoothed more where it is slow, and as long as it was before it was blurred (at least half). */
function calmWay(signal: Signal | null, sigmaS: number, fromS: number, toS: number): WayUp | null {
  const first = signal && wayUpOf(signal, fromS, toS);
  if (first === null) return null;
  const slowS = Math.max(sigmaS, slowSigma * (first.toS - first.fromS));
  const way = slowS > sigmaS ? wayUpOf(smooth(signal!, Math.sqrt(slowS ** 2 - sigmaS ** 2)), fromS, toS) : first;
  if (way === null) return null;
  const blurredByS = blur.perSigma * Math.hypot(slowS, blur.samplingS);
  const longS = way.toS - way.fromS;
  const cutS = (longS - Math.sqrt(Math.max(longS ** 2 / 4, longS ** 2 - blurredByS ** 2))) / 2;
  return { ...way, fromS: way.fromS + cutS, toS: way.toS - cutS };
}

/** The bar's way up in one rep by both witnesses; null when it cannot be told. */
function repSpeedOf(
  seen: BarSeen,
  lift: Lift,
  at: number,
  signals: Record<'pose' | 'flow', Signal | null>,
  scale: Scale,
): RepSpeed | null {
  const rep = seen.reps[at]!;
  const [from, to] = upFirst(lift) ? [rep.startS, rep.turnS] : [rep.turnS, rep.endS];
  // it was on its way up when it was first seen
  const [first] = seen.light;
  if (first !== undefined && from <= first.timeS) return null;
  const way = (of: 'pose' | 'flow') => calmWay(signals[of], sigmaS[of], from - aroundS, to + aroundS);
  const [pose, flow] = [way('pose'), way('flow')];
  const timed = flow ?? pose;
  if (timed === null || handsLeave(seen, timed)) return null;
  const poseM = pose && pose.rise / (scale.pxPerM * fitted[lift].pose);
  const flowM = flow && flow.rise / (scale.pxPerM * fitted[lift].flow * scale.near);
  const apart = poseM === null || flowM === null ? oneWitness : Math.abs(Math.log(poseM / flowM));
  if (!(apart <= mostApart[lift])) return null;
  const { byFlow } = fitted[lift];
  const riseM = (poseM ?? flowM!) ** (1 - byFlow) * (flowM ?? poseM!) ** byFlow;
  const meanMps = riseM / (timed.toS - timed.fromS);
  if (!(meanMps > plausibleMps[0] && meanMps < plausibleMps[1])) return null;
  return {
    rep: at + 1,
    fromS: round(timed.fromS),
    toS: round(timed.toS),
    meanMps: round(meanMps),
    peakMps: round((riseM / timed.rise) * timed.peakPerS),
    spreadShare: round(Math.hypot(repSpread.mean, repSpread.apart * apart)),
    peakSpreadShare: round(Math.hypot(repSpread.peak, repSpread.apart * apart)),
  };
}

/**
 * Mean and peak speed of the bar on the way up of each rep. Two witnesses: the pose (shoulders in squat and deadlift, wrists in press and bench) and
 * the patches that move most around the hands, which also tell when it moves. Unknown where there is no lift, the hands leave the picture or the
 * two do not agree; whether the whole clip allows it is for `speedAllowed`.
 */
export function barSpeedOf(seen: BarSeen): Fact<BarSpeed> {
  const { lift, reps, camera, view } = seen;
  if (lift === 'other' || reps.length === 0) return unknown('no-lift');
  const poses = seen.close.length >= leastLooks ? seen.close : seen.light;
  if (poses.length < leastLooks) return unknown('too-few-frames');
  const flatPxPerM = median(poses.map((s) => pxPerMetre(s.pose)));
  if (!(flatPxPerM > 0)) return unknown('lifter-unclear');
  const elevationDeg = camera.elevationDeg.known ? camera.elevationDeg.value : 0;
  const { near, square } = nearness(view, camera);
  // plates seen square from the side hide the trunk of a squat
  if (lift === 'squat' && square > 0.5) return unknown('hidden');
  const scale = {
    pxPerM: flatPxPerM * cosDeg(elevationDeg),
    near,
  };
  const signals = { pose: poseSignal(seen, ride[lift]), flow: flowSignal(seen) };
  const speeds = reps.map((_, at) => repSpeedOf(seen, lift, at, signals, scale)).filter((speed) => speed !== null);
  if (speeds.length === 0) return unknown('hidden');
  return known({
    reps: speeds,
    scale: {
      basis: 'stature',
      statureM: modelStatureM,
      staturePx: round(scale.pxPerM * modelStatureM),
      spreadShare: round(Math.hypot(fitted[lift].scale, sideSpread * square, tiltSpread * Math.abs(sinDeg(elevationDeg)))),
      statureSpreadShare: statureSpread,
    },
  });
}

/** Fewest pictures a second that show when the bar moves. */
const leastFps = 12;

/** The bar's speed where the clip as a whole allows it: at filmed speed, from a place that does not move, without a cut inside the lift. */
export function speedAllowed(facts: Facts): Facts['barSpeed'] {
  const { barSpeed, clip, steadiness, cuts, liftWindow } = facts;
  if (!barSpeed.known) return barSpeed;
  if (clip.known && clip.value.slowMotion) return unknown('slow-motion');
  if (clip.known && clip.value.fps < leastFps) return unknown('too-few-frames');
  if (steadiness.known && steadiness.value.class === 'moving') return unknown('camera-moves');
  const inside = (timeS: number) => liftWindow.known && timeS > liftWindow.value.startS && timeS < liftWindow.value.endS;
  if (cuts.known && cuts.value.some(inside)) return unknown('cut-inside');
  return barSpeed;
}

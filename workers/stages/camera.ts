import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass, LiftId } from '../../src/facts/facts.ts';
import { heightBoundsM } from '../../src/facts/height.ts';
import { joint, type Pose, pointWidth } from '../pose/types.ts';
import { middleWorld, pxPerMetre, type Vec3, visibilityOf, worldOf } from './course.ts';
import { median } from './series.ts';

const toDeg = 180 / Math.PI;
/** Field of view of a phone's main camera along the picture's long side: 26 mm equivalent, 36 mm film: 2 atan(18 / 26). */
const longFovDeg = 2 * Math.atan(18 / 26) * toDeg;
/** Height of the hips above the floor, metres: 0.53 of a stature of 1.73 m standing (Drillis and Contini 1966, as in Winter), a bench's top and half a pelvis lying. */
const hipHeightM = { standing: 0.92, lying: 0.55 };
/** Half-width of the 90 % interval of the distance, as a share of it, measured on rendered clips. */
const distanceSpread = 0.22;

const cross = (a: Vec3, b: Vec3): Vec3 => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

/** Elevation of the camera in one pose, degrees: how far the lifter's own vertical leans to the camera. */
function elevationOf(pose: Pose, lying: boolean): number {
  const shoulders = middleWorld(pose, joint.shoulderL, joint.shoulderR);
  if (!lying) {
    const [x, y, z] = minus(shoulders, middleWorld(pose, joint.ankleL, joint.ankleR));
    return Math.atan2(-z, Math.hypot(x, y)) * toDeg;
  }
  const left = minus(worldOf(pose, joint.shoulderL), worldOf(pose, joint.shoulderR));
  const [x, y, z] = cross([-shoulders[0], -shoulders[1], -shoulders[2]], left);
  return Math.atan2(-z, Math.hypot(x, y)) * toDeg;
}

/** Standard normal distribution function (Abramowitz and Stegun 26.2.17, error below 7.5e-8). */
function normalBelow(v: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(v));
  const tail =
    (Math.exp((-v * v) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return v > 0 ? 1 - tail : tail;
}

/** Raw readings before calibration: the tilt of the lifter's vertical in degrees and the distance in metres for a body of average size. */
export function rawCamera(
  atRest: readonly Pose[],
  all: readonly Pose[],
  lying: boolean,
  longSidePx: number,
): { tiltDeg: number; distanceM: number } {
  const focalPx = longSidePx / 2 / Math.tan(longFovDeg / 2 / toDeg);
  return {
    tiltDeg: median(atRest.map((pose) => elevationOf(pose, lying))),
    distanceM: focalPx / Math.max(1, median(all.map(pxPerMetre))),
  };
}

/**
 * From raw readings to the truth, by lift, fitted on rendered clips of known cameras: elevation = gain * tilt - lean * cos(azimuth) - offset.
 * `leanDeg`: how far the body leans forward at rest, seen from the front as towards the camera; `distance`: factor on the distance.
 */
const calibration: Record<LiftId, { gain: number; leanDeg: number; offsetDeg: number; distance: number }> = {
  squat: { gain: 1.13, leanDeg: 8.5, offsetDeg: 0.8, distance: 1.02 },
  press: { gain: 1, leanDeg: 1.5, offsetDeg: 1.5, distance: 1.12 },
  deadlift: { gain: 1, leanDeg: 4.7, offsetDeg: 2.2, distance: 1.08 },
  bench: { gain: 0.8, leanDeg: 0, offsetDeg: -2, distance: 1.05 },
  other: { gain: 1, leanDeg: 4, offsetDeg: 1.5, distance: 1.07 },
};

/** Height of the ankles above the floor, metres: 0.039 of a stature of 1.73 m (Drillis and Contini 1966), and the sole of a shoe. */
const ankleHeightM = 0.09;
/** The feet tell the height only when the camera stands this far round (sine of the azimuth), and they are seen. */
const feetNeed = { across: 0.4, visibility: 0.2, poses: 4 };
/** Standard deviations, measured on rendered clips: of the tilt of the body, and of the sine that the feet give. */
const sigmas = { tiltDeg: 4, lyingTiltDeg: 6, feet: 0.06 };
/** Seen from below, the pose model draws people too level, so the tilt counts less where the feet say that the camera is lower. */
const belowFactor = 1.6;
/** From the sine that the feet give to the true one: the model draws feet too level (fitted on rendered clips). */
const feetLine = { offset: 0.02, gain: 1.25 };

/**
 * The sine of the camera's elevation above the feet: both stand on the floor, so the nearer one appears lower in the picture, the more so the
 * higher the camera stands. null when the feet are not seen or stand side by side for the camera.
 */
function feetSine(poses: readonly Pose[], azimuthDeg: number): number | null {
  const across = Math.sin(azimuthDeg / toDeg);
  if (Math.abs(across) < feetNeed.across) return null;
  const pairs = [
    [joint.ankleL, joint.ankleR],
    [joint.toeL, joint.toeR],
  ] as const;
  const seen = poses.filter((p) => pairs.flat().every((row) => visibilityOf(p, row) > feetNeed.visibility));
  if (seen.length < feetNeed.poses) return null;
  const pxPerM = median(seen.map(pxPerMetre));
  const sines = pairs.map(([l, r]) => {
    const lower = median(seen.map((p) => p.points[l * pointWidth + 1]! - p.points[r * pointWidth + 1]!)) / pxPerM;
    const apart = median(seen.map((p) => Math.hypot(...minus(worldOf(p, l), worldOf(p, r)))));
    return lower / (Math.max(0.1, apart) * across);
  });
  return feetLine.offset + (feetLine.gain * (sines[0]! + sines[1]!)) / 2;
}

/**
 * Camera elevation, height class and distance from poses at rest and over the whole lift. Two witnesses tell the height: the tilt of the body,
 * with the distance and a hip of average height, and the feet on the floor. The class is sure as far as the height's spread lies within it.
 */
export function cameraOf(
  atRest: readonly Pose[],
  all: readonly Pose[],
  lift: LiftId,
  azimuthDeg: number | null,
  longSidePx: number,
): Facts['camera'] {
  if (atRest.length < 2) {
    const none = () => unknown<never>('too-few-frames');
    return { elevationDeg: none(), heightClass: none(), distanceM: none() };
  }
  const lying = lift === 'bench';
  const raw = rawCamera(atRest, all, lying, longSidePx);
  const { gain, leanDeg, offsetDeg, distance } = calibration[lift];
  const lean = azimuthDeg === null ? 0 : leanDeg * Math.cos(azimuthDeg / toDeg);
  const distanceM = distance * raw.distanceM;
  const hipM = lying ? hipHeightM.lying : hipHeightM.standing;
  let heightM = hipM + distanceM * Math.sin((gain * raw.tiltDeg - lean - offsetDeg) / toDeg);
  let sigmaM = (distanceM * (lying ? sigmas.lyingTiltDeg : sigmas.tiltDeg)) / toDeg;
  const sine = lying || azimuthDeg === null ? null : feetSine(all, azimuthDeg);
  if (sine !== null) {
    const feetM = ankleHeightM + distanceM * Math.tan(Math.asin(Math.max(-0.5, Math.min(0.9, sine))));
    const feetSigmaM = (distanceM * sigmas.feet) / Math.abs(Math.sin(azimuthDeg! / toDeg));
    if (feetM < heightM) sigmaM *= belowFactor;
    const weight = sigmaM ** 2 / (sigmaM ** 2 + feetSigmaM ** 2);
    heightM += weight * (feetM - heightM);
    sigmaM *= Math.sqrt(1 - weight);
  }
  const elevationDeg = Math.asin(Math.max(-1, Math.min(1, (heightM - hipM) / Math.max(0.3, distanceM)))) * toDeg;
  let below = 0;
  let best: { name: HeightClass; share: number } = { name: 'waist', share: 0 };
  for (const [name, bound] of heightBoundsM) {
    const upTo = bound === Number.POSITIVE_INFINITY ? 1 : normalBelow((bound - heightM) / sigmaM);
    if (upTo - below > best.share) best = { name, share: upTo - below };
    below = upTo;
  }
  const tenth = (v: number) => Math.round(v * 10) / 10;
  return {
    elevationDeg: known(tenth(elevationDeg), { spread: tenth((1.645 * sigmaM * toDeg) / Math.max(0.5, distanceM)) }),
    heightClass: known(best.name, { confidence: Math.round(best.share * 100) / 100 }),
    distanceM: known(Math.max(0.1, tenth(distanceM)), { spread: tenth(distanceSpread * distanceM) }),
  };
}

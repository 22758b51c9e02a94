import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass, LiftId } from '../../src/facts/facts.ts';
import { joint, type Pose } from '../pose/types.ts';
import { middleWorld, pxPerMetre, type Vec3, worldOf } from './course.ts';
import { median } from './series.ts';

const toDeg = 180 / Math.PI;
/** Field of view of a phone's main camera along the picture's long side: 26 mm equivalent, 36 mm film: 2 atan(18 / 26). */
const longFovDeg = 2 * Math.atan(18 / 26) * toDeg;
/** Height of the hips above the floor, metres: 0.53 of a stature of 1.73 m standing (Drillis and Contini 1966, as in Winter), a bench's top and half a pelvis lying. */
const hipHeightM = { standing: 0.92, lying: 0.55 };
/** Half-widths of the 90 % intervals, measured on rendered clips of known cameras. */
const spreads = { elevationDeg: 11, distanceShare: 0.22 };
/** Upper bounds of the height classes in metres; see HeightClass. */
const bounds: [HeightClass, number][] = [
  ['floor', 0.35],
  ['low', 0.7],
  ['waist', 1.35],
  ['head', 2],
  ['above', Number.POSITIVE_INFINITY],
];

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
 * From raw readings to the truth, by lift, fitted on rendered clips of known cameras. `leanDeg`: how far the body leans forward at rest, seen from
 * the front as towards the camera; `offsetDeg`: what the pose model reads too high; `gain`: on the distance.
 */
const calibration: Record<LiftId, { leanDeg: number; offsetDeg: number; gain: number }> = {
  squat: { leanDeg: 6, offsetDeg: -3, gain: 1.03 },
  press: { leanDeg: 2.5, offsetDeg: 2, gain: 1.1 },
  deadlift: { leanDeg: 4, offsetDeg: 2, gain: 1.1 },
  bench: { leanDeg: 0, offsetDeg: 2, gain: 1.03 },
  other: { leanDeg: 3, offsetDeg: 0, gain: 1.07 },
};

/**
 * Camera elevation, height class and distance from poses at rest and over the whole lift. The height stands on the elevation, the distance and a
 * hip of average height; its class is sure as far as its spread lies within the class.
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
  const { leanDeg, offsetDeg, gain } = calibration[lift];
  const lean = azimuthDeg === null ? 0 : leanDeg * Math.cos(azimuthDeg / toDeg);
  const elevationDeg = raw.tiltDeg - lean - offsetDeg;
  const distanceM = gain * raw.distanceM;
  const heightM = (lying ? hipHeightM.lying : hipHeightM.standing) + distanceM * Math.sin(elevationDeg / toDeg);
  const sigmaM = (distanceM * spreads.elevationDeg) / toDeg / 1.645;
  let below = 0;
  let best: { name: HeightClass; share: number } = { name: 'waist', share: 0 };
  for (const [name, bound] of bounds) {
    const upTo = bound === Number.POSITIVE_INFINITY ? 1 : normalBelow((bound - heightM) / sigmaM);
    if (upTo - below > best.share) best = { name, share: upTo - below };
    below = upTo;
  }
  const tenth = (v: number) => Math.round(v * 10) / 10;
  return {
    elevationDeg: known(tenth(elevationDeg), { spread: spreads.elevationDeg }),
    heightClass: known(best.name, { confidence: Math.round(best.share * 100) / 100 }),
    distanceM: known(Math.max(0.1, tenth(distanceM)), { spread: tenth(spreads.distanceShare * distanceM) }),
  };
}

import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass, LiftId } from '../../src/facts/facts.ts';
import { heightBoundsM } from '../../src/facts/height.ts';
import { joint, type Pose, pointWidth } from '../pose/types.ts';
import type { Setting } from './bar-in-view.ts';
import { guess, type Nets, ownNets } from './camera-net.ts';
import { middlePx, middleWorld, pxPerMetre, type Vec3, visibilityOf, worldOf } from './course.ts';
import { median } from './series.ts';

const toDeg = 180 / Math.PI;
/** Field of view of a phone's main camera along the picture's long side: 26 mm equivalent, 36 mm film: 2 atan(18 / 26). */
const longFovDeg = 2 * Math.atan(18 / 26) * toDeg;
/** Focal length of a phone's main camera in pixels of a picture of this size. */
export const focalPxOf = ({ widthPx, heightPx }: { widthPx: number; heightPx: number }) =>
  Math.max(widthPx, heightPx) / 2 / Math.tan(longFovDeg / 2 / toDeg);
/** Of the lifter's body: stature, m, and hips standing as a share of it (Drillis and Contini 1966, as in Winter); a bench's top and half a pelvis, m. */
const [statureM, hipShare, lyingHipM] = [1.73, 0.53, 0.55];
/** Where a deadlift starts the hips are lower than standing, m: measured on rendered clips. */
const pullHipM = 0.63;
/** The pose model's metres are too short: factors on the distance by lift, fitted on rendered clips of known cameras. */
const distanceFactor: Record<LiftId, number> = { squat: 1.02, press: 1.09, deadlift: 1.05, bench: 1.02, other: 1.05 };
/** Half-width of the distance's 90 % interval, as a share: by the body measured on rendered clips; by plates 0.07 there, more for smaller ones. */
const distanceSpread = { byBody: 0.22, byPlates: 0.12 };

/** Who lies on a bench has the middle of these about as high as the hips. */
const pairsLying = [
  [joint.hipL, joint.hipR],
  [joint.shoulderL, joint.shoulderR],
] as const;

const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

/** Elevation of the camera around the hips of a lifter who stands upright or lies, degrees: the middle of what networks say of each pose. */
export function elevationOf(poses: readonly Pose[], lying: boolean, nets: Nets = ownNets('elevation')): number {
  const some = lying ? nets.lying : nets.standing;
  return median(poses.map((pose) => Math.atan(guess('elevation', pose, some)[0]!))) * toDeg;
}

/**
 * Of whom stands below the picture's middle the networks, which learned from lifters near it, take the camera to be lower: by this share of the angle,
 * beyond what they are used to, degrees. Measured on rendered clips: 0.3 where only the camera's aim was changed, 0.54 over all clips.
 */
const offAxis = { share: 0.4, usualDeg: 2.6 };

/** How far below the picture's middle the hips are seen, degrees. */
function hipsBelowDeg(poses: readonly Pose[], picture: Picture): number {
  const belowPx = median(poses.map((p) => middlePx(p, joint.hipL, joint.hipR).y)) - picture.heightPx / 2;
  return Math.atan(belowPx / focalPxOf(picture)) * toDeg;
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

/** Height of the ankles above the floor, metres: 0.039 of a stature of 1.73 m (Drillis and Contini 1966), and the sole of a shoe. */
const ankleHeightM = 0.09;
/** Fewest poses for a word on the camera. */
const leastPoses = 2;
/** The feet tell the height only when the camera stands this far round (sine of the azimuth), and they are seen. */
const feetNeed = { across: 0.4, visibility: 0.2, poses: 4 };
/** Standard deviations, measured on rendered clips: of the elevation, and of the sine that the feet give. */
const sigmas = { standingDeg: 5, lyingDeg: 7, feet: 0.06 };
/** Seen from below, the networks take real people for too level, so they count less where the feet say that the camera is lower. */
const belowFactor = 1.6;
/** A camera does not stand under the floor that the feet are on: least sine, with what the measuring may be off. */
const leastSine = -0.02;
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

/** Height class with the largest share of a normal spread around a height, as far as that lies above the floor, and that share. */
function heightClassOf(heightM: number, sigmaM: number): { name: HeightClass; share: number } {
  const underFloor = normalBelow(-heightM / sigmaM);
  let below = underFloor;
  let best: { name: HeightClass; share: number } = { name: 'floor', share: 0 };
  for (const [name, bound] of heightBoundsM) {
    const upTo = bound === Number.POSITIVE_INFINITY ? 1 : normalBelow((bound - heightM) / sigmaM);
    const share = (upTo - below) / (1 - underFloor);
    if (share > best.share) best = { name, share };
    below = upTo;
  }
  return best;
}

/** What a witness says of the camera's height above the floor, and how far that may be off (standard deviation), metres. */
type Height = { m: number; sigmaM: number };

/** Both together, weighed by how sure each is; less sure when they contradict each other. */
function together(a: Height, b: Height): Height {
  const variance = a.sigmaM ** 2 + b.sigmaM ** 2;
  const weight = a.sigmaM ** 2 / variance;
  const contradiction = Math.max(1, Math.abs(a.m - b.m) / (2 * Math.sqrt(variance)));
  return { m: a.m + weight * (b.m - a.m), sigmaM: contradiction * Math.sqrt((a.sigmaM ** 2 * b.sigmaM ** 2) / variance) };
}

/** The feet are looked at in this many poses at least, seen this surely. */
const standNeed = { poses: 4, visibility: 0.15 };
/**
 * Standard deviations of the height by the room's lines: of their pitch, so many times what it says and at least so much, degrees; of the distance, as a
 * share; of how high a part of the body is, m. Measured on rendered clips; the least one on real ones, whose lenses differ.
 */
const roomSigma = { times: 1.5, leastDeg: 1.5, byBody: 0.1, byPlates: 0.05, feetM: 0.06, otherM: 0.12 };

/** The camera's height from which way it looks at the feet on the floor, at the hips where they are not seen; lying, at feet, hips and shoulders. */
function heightByRoom(
  poses: readonly Pose[],
  lying: boolean,
  away: { distanceM: number; sigmaShare: number; hipM: number },
  picture: Picture,
  pitch: { deg: number; sdDeg: number },
): Height {
  const { distanceM } = away;
  const focalPx = focalPxOf(picture);
  const riseM = (of: readonly Pose[], left: number, right: number) => {
    const downPx = median(of.map((p) => middlePx(p, left, right).y)) - picture.heightPx / 2;
    const awayM = Math.max(0.3, distanceM + median(of.map((p) => middleWorld(p, left, right)[2])));
    return awayM * Math.tan(Math.atan(downPx / focalPx) - pitch.deg / toDeg);
  };
  const seen = (pose: Pose, row: number) =>
    visibilityOf(pose, row) > standNeed.visibility && pose.points[row * pointWidth + 1]! < picture.heightPx;
  const footed = poses.filter((p) => seen(p, joint.ankleL) && seen(p, joint.ankleR));
  const byFeet = footed.length >= standNeed.poses && !lying;
  const ankles = (of: readonly Pose[]) => ankleHeightM + riseM(of, joint.ankleL, joint.ankleR);
  const lain = () => [ankles(poses), ...pairsLying.map(([l, r]) => lyingHipM + riseM(poses, l, r))];
  const m = lying ? median(lain()) : byFeet ? ankles(footed) : away.hipM + riseM(poses, joint.hipL, joint.hipR);
  const turnM = (distanceM * Math.max(roomSigma.leastDeg, roomSigma.times * pitch.sdDeg)) / toDeg;
  return { m, sigmaM: Math.hypot(turnM, away.sigmaShare * m, byFeet ? roomSigma.feetM : roomSigma.otherM) };
}

/** A picture's size as the poses see it, and how far up the camera looks in it, degrees (`spread`: standard deviation). */
export type Picture = { widthPx: number; heightPx: number; pitchDeg: Fact<number> };

/** The elevation as the networks see it, brought to where in the picture the lifter stands, degrees. */
function seenElevationDeg(poses: readonly Pose[], lying: boolean, picture: Picture): number {
  const offDeg = lying ? 0 : offAxis.share * (hipsBelowDeg(poses, picture) - offAxis.usualDeg);
  return elevationOf(poses, lying) + offDeg;
}

/** From the camera to the hips of a lifter of average stature, m. */
const lineOfSightM = (poses: readonly Pose[], lift: LiftId, picture: Picture) =>
  (distanceFactor[lift] * focalPxOf(picture)) / Math.max(1, median(poses.map(pxPerMetre)));

/** How the camera sees a lifter of average stature, and the bar that they hold. */
export function settingOf(poses: readonly Pose[], lift: LiftId, azimuthDeg: number, picture: Picture): Setting {
  const { widthPx, heightPx, pitchDeg } = picture;
  const belowDeg = hipsBelowDeg(poses, picture);
  const sightDeg = pitchDeg.known ? pitchDeg.value - belowDeg : -seenElevationDeg(poses, lift === 'bench', picture);
  return {
    ...{ lift, azimuthDeg, picture: { widthPx, heightPx }, focalPx: focalPxOf(picture) },
    ...{ sightDeg, pitchDeg: sightDeg + belowDeg },
    hipsM: lineOfSightM(poses, lift, picture),
  };
}

/**
 * Camera elevation, height class and distance from poses over the whole lift. Networks tell the elevation; with the distance and hips of average
 * height it gives the camera's height. Where they see it from below, the feet on the floor are a second witness for a camera still lower. The pitch
 * that the room's lines give is a third one: with it the place of the feet in the picture tells the height. The class is sure as far as the height's
 * spread lies within it. `azimuthDeg`: null when unknown. `stretch`: how many times as large and as far away as one of average stature the lifter is,
 * by the plates; null when unknown.
 */
export function cameraOf(
  poses: readonly Pose[],
  lift: LiftId,
  azimuthDeg: number | null,
  picture: Picture,
  stretch: number | null = null,
): Facts['camera'] {
  if (poses.length < leastPoses) {
    const none = () => unknown<never>('too-few-frames');
    return { elevationDeg: none(), heightClass: none(), distanceM: none() };
  }
  const lying = lift === 'bench';
  const seenDeg = seenElevationDeg(poses, lying, picture);
  const lineM = (stretch ?? 1) * lineOfSightM(poses, lift, picture);
  const distanceM = Math.max(0.3, lineM * Math.cos(seenDeg / toDeg));
  const hipM = lying ? lyingHipM : hipShare * statureM * (stretch ?? 1);
  let height: Height = {
    m: hipM + distanceM * Math.tan(seenDeg / toDeg),
    sigmaM: (distanceM * (lying ? sigmas.lyingDeg : sigmas.standingDeg)) / toDeg,
  };
  const sine = lying || azimuthDeg === null || seenDeg > 0 ? null : feetSine(poses, azimuthDeg);
  const feetM =
    sine === null ? height.m : ankleHeightM + distanceM * Math.tan(Math.asin(Math.max(leastSine, Math.min(0.9, sine))));
  if (feetM < height.m) {
    const feet = { m: feetM, sigmaM: (distanceM * sigmas.feet) / Math.abs(Math.sin(azimuthDeg! / toDeg)) };
    height = together({ ...height, sigmaM: belowFactor * height.sigmaM }, feet);
  }
  if (picture.pitchDeg.known) {
    const pitch = { deg: picture.pitchDeg.value, sdDeg: picture.pitchDeg.spread ?? 0 };
    const sigmaShare = stretch === null ? roomSigma.byBody : roomSigma.byPlates;
    height = together(height, heightByRoom(poses, lying, { distanceM, sigmaShare, hipM }, picture, pitch));
  }
  const heightM = Math.max(0, height.m);
  const { name, share } = heightClassOf(heightM, height.sigmaM);
  const startHipM = lift === 'deadlift' ? pullHipM : hipM;
  const tenth = (v: number) => Math.round(v * 10) / 10;
  return {
    elevationDeg: known(tenth(Math.atan2(heightM - startHipM, distanceM) * toDeg), {
      spread: tenth((1.645 * height.sigmaM * toDeg) / Math.max(0.5, distanceM)),
    }),
    heightClass: known(name, { confidence: Math.round(share * 100) / 100 }),
    distanceM: known(Math.max(0.1, tenth(distanceM)), {
      spread: tenth((stretch === null ? distanceSpread.byBody : distanceSpread.byPlates) * distanceM),
    }),
  };
}

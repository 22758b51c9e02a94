/** A picture as packed rows of red, green, blue bytes. Anything with these fields will do. */
export type RgbImage = { data: Uint8Array; widthPx: number; heightPx: number };

/** A point in picture pixels: x to the right, y down, (0, 0) is the picture's upper left corner. */
export type Point = { x: number; y: number };

/** An upright rectangle in picture pixels; may reach over the picture's edge. */
type Box = { x: number; y: number; widthPx: number; heightPx: number };

/**
 * A square of the picture that the landmark model looks at: its centre, the length of its side, and by how much its top is turned clockwise
 * (as seen) from the picture's top, in radians. It is turned so that the person in it stands upright, lying people too.
 */
export type Region = { cx: number; cy: number; sidePx: number; angleRad: number };

/** A person found in a whole picture. */
export type Detection = {
  /** Probability of a person, 0..1. */
  score: number;
  /** Head and shoulders of the person (not the body), as the detector frames them. */
  box: Box;
  /** Middle of the hips. */
  hip: Point;
  /** Point beyond the head: |hip - top| is the radius of a circle around the whole body, stretched as on a drawing of Vitruvius. */
  top: Point;
  region: Region;
};

/** Names of the landmark models: `lite` for every frame, `heavy` (ten times the work) for chosen frames. */
export type PoseModel = 'lite' | 'heavy';

/** A person's pose in one picture. */
export type Pose = {
  /** Probability that the region holds a person, 0..1; stays high under some mistakes. */
  presence: number;
  /** `[33][5]`: x, y in picture pixels; z in picture pixels, smaller is nearer, 0 at the hips; visibility 0..1; presence in the picture 0..1. */
  points: Float32Array;
  /** `[33][3]`: metres from the middle of the hips; x to the picture's right, y down, z away from the camera. */
  world: Float32Array;
  /** Region for the next picture of a video. */
  next: Region;
};

/** Numbers per row of `Pose.points` and `Pose.world`. */
export const pointWidth = 5;
export const worldWidth = 3;

/** Rows of `Pose.points` and `Pose.world` (left and right are the person's own). */
export const joint = {
  nose: 0,
  eyeInnerL: 1,
  eyeL: 2,
  eyeOuterL: 3,
  eyeInnerR: 4,
  eyeR: 5,
  eyeOuterR: 6,
  earL: 7,
  earR: 8,
  mouthL: 9,
  mouthR: 10,
  shoulderL: 11,
  shoulderR: 12,
  elbowL: 13,
  elbowR: 14,
  wristL: 15,
  wristR: 16,
  pinkyL: 17,
  pinkyR: 18,
  indexL: 19,
  indexR: 20,
  thumbL: 21,
  thumbR: 22,
  hipL: 23,
  hipR: 24,
  kneeL: 25,
  kneeR: 26,
  ankleL: 27,
  ankleR: 28,
  heelL: 29,
  heelR: 30,
  toeL: 31,
  toeR: 32,
} as const;

const limbs = [
  joint.wristL,
  joint.wristR,
  joint.kneeL,
  joint.kneeR,
  joint.ankleL,
  joint.ankleR,
  joint.shoulderL,
  joint.shoulderR,
];

/** Nobody is upside down: whose body is turned so far from upright, radians, was likelier misread and counts so much less. Chosen. */
const over = { fromRad: 2.4, left: 0.75 };

/** Whether a body in such a region is upside down, more than lying. */
export const isOver = ({ angleRad }: Region): boolean => Math.cos(angleRad) < Math.cos(over.fromRad);

/** How well a pose is seen, 0..1: presence times the mean visibility of the limbs; less of one upside down. */
export function clearness(pose: Pose): number {
  const seen = limbs.reduce((sum, row) => sum + pose.points[row * pointWidth + 3]!, 0) / limbs.length;
  return pose.presence * seen * (isOver(pose.next) ? over.left : 1);
}

import type { LiftId } from '../../src/facts/facts.ts';
import { joint, type Point, type Pose, pointWidth } from '../pose/types.ts';
import { middleWorld, type Vec3, worldOf } from './course.ts';
import { median } from './series.ts';

/**
 * A bar and its plates, m: half of what lies between the collars (1.31 m) and a collar's own 3 cm, where the first plate begins; the radius of the
 * largest plates (450 mm). As in the rules of weightlifting (IWF) and powerlifting (IPF), from memory.
 */
const bar = { plateM: 0.655 + 0.03, radiusM: 0.225 };
/** Hands hold the bar a little beyond the knuckles, from the wrist: chosen. */
const beyondWrist = 1.2;

/** What is known of a lift and its camera before the bar is looked for. */
export interface Setting {
  lift: LiftId;
  azimuthDeg: number;
  /** How far up the camera looks, degrees. */
  pitchDeg: number;
  /** How far up the line of sight to the hips goes, degrees. */
  sightDeg: number;
  /** From the camera to the hips along its line of sight, of a lifter of average stature, m. */
  hipsM: number;
  focalPx: number;
  picture: { widthPx: number; heightPx: number };
}

/** The end of the bar that is nearer to the camera, or the other one. */
export type End = 'near' | 'far';

/** One end of a bar as the camera sees it. */
export interface BarEnd {
  /** Middle of the first plate's inner face, picture pixels. */
  middle: Point;
  /** Radius of a plate there, picture pixels. */
  radiusPx: number;
  /** The edge of a plate that begins so far outside of the first one, at an angle around the bar, picture pixels. */
  edge(outsideM: number, rad: number): Point;
}

const toDeg = 180 / Math.PI;

/** Directions of the room in the camera's axes: the lifter's left along the bar, what they face, and up. */
function axesOf(azimuthDeg: number, pitchDeg: number): { left: Vec3; ahead: Vec3; up: Vec3 } {
  const [a, p] = [azimuthDeg / toDeg, pitchDeg / toDeg];
  const inCamera = (right: number, up: number, away: number): Vec3 => [
    right,
    away * Math.sin(p) - up * Math.cos(p),
    up * Math.sin(p) + away * Math.cos(p),
  ];
  return { left: inCamera(Math.cos(a), 0, -Math.sin(a)), ahead: inCamera(-Math.sin(a), 0, -Math.cos(a)), up: inCamera(0, 1, 0) };
}

/** Where the hands hold the bar, picture pixels. */
export function handsOnBar({ points }: Pose): Point {
  const mean = (rows: readonly number[], axis: 0 | 1) =>
    rows.reduce((sum, row) => sum + points[row * pointWidth + axis]!, 0) / rows.length;
  const on = (axis: 0 | 1) => {
    const wrists = mean([joint.wristL, joint.wristR], axis);
    const knuckles = mean([joint.indexL, joint.indexR, joint.pinkyL, joint.pinkyR], axis);
    return wrists + beyondWrist * (knuckles - wrists);
  };
  return { x: on(0), y: on(1) };
}

/** What the bar is held over: the feet of who stands, the trunk of who lies (common practice). */
const underBar = {
  standing: [joint.ankleL, joint.ankleR, joint.heelL, joint.heelR, joint.toeL, joint.toeR],
  lying: [joint.shoulderL, joint.shoulderR, joint.hipL, joint.hipR],
};

/** How much farther away than the hips the bar is, which is as high as the hands are, m. */
export function barBehindHipsM(poses: readonly Pose[], { lift, sightDeg }: Setting): number {
  const { up } = axesOf(0, sightDeg);
  const rows = underBar[lift === 'bench' ? 'lying' : 'standing'];
  return median(
    poses.map((pose) => {
      const places = rows.map((row) => worldOf(pose, row));
      const under = ([0, 1, 2] as const).map((axis) => places.reduce((sum, place) => sum + place[axis], 0) / rows.length);
      const hands = middleWorld(pose, joint.wristL, joint.wristR);
      const rise = hands.reduce((sum, v, axis) => sum + (v - under[axis]!) * up[axis]!, 0);
      return under[2]! + rise * up[2];
    }),
  );
}

/**
 * The ends of a bar that is held at a place of the picture, as the camera sees them when it stands `stretch` times as far away as from a lifter of
 * average stature, and `turnDeg` farther round to the lifter's left. `behindM`: how much farther than the hips the bar is.
 */
export function barInView({ azimuthDeg, pitchDeg, hipsM, focalPx, picture }: Setting, behindM: number) {
  const [middleX, middleY] = [picture.widthPx / 2, picture.heightPx / 2];
  const project = ([x, y, z]: Vec3): Point => ({ x: (x / z) * focalPx + middleX, y: (y / z) * focalPx + middleY });
  return (hands: Point, end: End, stretch: number, turnDeg: number): BarEnd => {
    const { left, ahead, up } = axesOf(azimuthDeg + turnDeg, pitchDeg);
    const outwards = left[2] < 0 === (end === 'near') ? 1 : -1;
    const away = stretch * (hipsM + behindM);
    const [handsX, handsY] = [((hands.x - middleX) / focalPx) * away, ((hands.y - middleY) / focalPx) * away];
    const at = (alongM: number, aheadM: number, upM: number): Vec3 => {
      const off = (axis: 0 | 1 | 2) => outwards * alongM * left[axis] + aheadM * ahead[axis] + upM * up[axis];
      return [handsX + off(0), handsY + off(1), away + off(2)];
    };
    const middle = at(bar.plateM, 0, 0);
    return {
      middle: project(middle),
      radiusPx: (bar.radiusM / middle[2]) * focalPx,
      edge: (outsideM, rad) => project(at(bar.plateM + outsideM, bar.radiusM * Math.cos(rad), bar.radiusM * Math.sin(rad))),
    };
  };
}

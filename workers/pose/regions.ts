import { joint, type Pose, pointWidth, type Region } from './types.ts';

/** The angle from a to b, -pi..pi. */
export const turn = (a: number, b: number) => Math.atan2(Math.sin(b - a), Math.cos(b - a));

/** Between two regions' centres, pixels. */
export const distance = (a: Region, b: Region) => Math.hypot(a.cx - b.cx, a.cy - b.cy);

/** Whether two regions show the same person: hips within a seventh of the side and sides within a factor of 1.6. */
export function sameRegion(a: Region, b: Region): boolean {
  const small = Math.min(a.sidePx, b.sidePx);
  const apart = distance(a, b);
  return apart < small / 7 && Math.max(a.sidePx, b.sidePx) < small * 1.6 && Math.abs(turn(a.angleRad, b.angleRad)) < Math.PI / 3;
}

/** Whether two poses lie on the same person: the body's joints are within 8 % of the region's side on average. */
export function samePose(a: Pose, b: Pose, sidePx: number): boolean {
  let sum = 0;
  for (const at of bodyJoints) sum += Math.hypot(a.points[at]! - b.points[at]!, a.points[at + 1]! - b.points[at + 1]!);
  return sum / bodyJoints.length < 0.08 * sidePx;
}

const bodyJoints = [
  joint.shoulderL,
  joint.shoulderR,
  joint.hipL,
  joint.hipR,
  joint.kneeL,
  joint.kneeR,
  joint.elbowL,
  joint.elbowR,
].map((row) => row * pointWidth);

/** Where a lost person may turn up again: within a third of the side, of about the same size. */
export const samePlace = (a: Region, b: Region) =>
  distance(a, b) < Math.min(a.sidePx, b.sidePx) / 3 && Math.max(a.sidePx, b.sidePx) < 1.8 * Math.min(a.sidePx, b.sidePx);

/** Whether the second is not where the first is any more. */
export const drifted = (a: Region, b: Region) =>
  distance(a, b) > 0.1 * b.sidePx ||
  Math.abs(Math.log(a.sidePx / b.sidePx)) > 0.25 ||
  Math.abs(turn(a.angleRad, b.angleRad)) > 0.5;

/** A region on the way from one to another: `share` of it, of the place `placeShare`. */
export const between = (a: Region, b: Region, share: number, placeShare = share): Region => ({
  cx: a.cx + placeShare * (b.cx - a.cx),
  cy: a.cy + placeShare * (b.cy - a.cy),
  sidePx: a.sidePx + share * (b.sidePx - a.sidePx),
  angleRad: a.angleRad + share * turn(a.angleRad, b.angleRad),
});

import { type Detection, joint, type Pose, type Region } from '../../workers/pose/types.ts';

/** An invented standing person, 100 px from head to feet, hips at x, y. */
export function standing(x: number, y: number, presence = 1, dy = 0): Pose {
  const points = new Float32Array(33 * 5);
  for (let row = 0; row < 33; row++) points.set([x, y, 0, 1, 1], row * 5);
  const put = (row: number, ox: number, oy: number) => points.set([x + ox, y + oy], row * 5);
  put(joint.nose, 0, -45);
  for (const [row, ox, oy] of [
    [joint.shoulderL, 10, -30],
    [joint.elbowL, 12, -15],
    [joint.wristL, 12, dy],
    [joint.hipL, 6, 0],
    [joint.kneeL, 6, 25],
    [joint.ankleL, 6, 50],
  ] as const) {
    put(row, ox, oy);
    put(row + 1, -ox, oy);
  }
  return { presence, points, world: new Float32Array(99), next: region(x, y) };
}

/** An upright square around hips. */
export const region = (cx: number, cy: number, sidePx = 150, angleRad = 0): Region => ({ cx, cy, sidePx, angleRad });

/** What the detector says of one whose hips are at x, y. */
export const seen = (x: number, y: number, score = 0.9): Detection => ({
  score,
  box: { x: x - 15, y: y - 60, widthPx: 30, heightPx: 30 },
  hip: { x, y },
  top: { x, y: y - 60 },
  region: region(x, y),
});

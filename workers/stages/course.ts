import { joint, type Pose, pointWidth, type Region, worldWidth } from '../pose/types.ts';

/** A square cut out of a picture: `[cropSide][cropSide][3]` bytes. */
export interface Square {
  region: Region;
  crop: Uint8Array;
}

/** One person's pose at one time of the clip, and what it was read from where that was kept. */
export interface Sample {
  timeS: number;
  pose: Pose;
  square?: Square;
}

/** One person's poses in order of time. */
export interface Person {
  id: number;
  samples: Sample[];
}

/** All people followed through one clip; pictures of widthPx x heightPx as the poses see them. */
export interface Course {
  widthPx: number;
  heightPx: number;
  /** Times of all frames looked at, seconds. */
  timesS: number[];
  people: Person[];
}

/** The sample nearest to a time, of at least one. */
export function nearest(samples: readonly Sample[], timeS: number): Sample {
  return samples.reduce((a, b) => (Math.abs(b.timeS - timeS) < Math.abs(a.timeS - timeS) ? b : a));
}

/** A longer time between two poses is a gap: people besides the main one are looked at five times a second. */
const mostGapS = 0.3;

/** How long someone was followed, seconds: the times between their poses, gaps left out. */
export function followedS(samples: readonly Sample[]): number {
  const steps = samples.slice(1).map(({ timeS }, i) => timeS - samples[i]!.timeS);
  return steps.reduce((sum, stepS) => sum + (stepS > mostGapS ? 0 : stepS), 0);
}

/** How long the pictures looked at go on, seconds. */
export const lengthS = ({ timesS }: Pick<Course, 'timesS'>): number => (timesS.at(-1) ?? 0) - (timesS[0] ?? 0);

/** Vector in metres: x to the picture's right, y down, z away from the camera. */
export type Vec3 = [x: number, y: number, z: number];

/** World position of a joint in metres from the middle of the hips. */
export function worldOf(pose: Pose, row: number): Vec3 {
  const at = row * worldWidth;
  return [pose.world[at]!, pose.world[at + 1]!, pose.world[at + 2]!];
}

/** Visibility of a joint, 0..1. */
export function visibilityOf(pose: Pose, row: number): number {
  return pose.points[row * pointWidth + 3]!;
}

/** Middle of two joints in picture pixels. */
export function middlePx(pose: Pose, a: number, b: number): { x: number; y: number } {
  const p = pose.points;
  return { x: (p[a * pointWidth]! + p[b * pointWidth]!) / 2, y: (p[a * pointWidth + 1]! + p[b * pointWidth + 1]!) / 2 };
}

/** Middle of two joints in the world, metres. */
export function middleWorld(pose: Pose, a: number, b: number): Vec3 {
  const [p, q] = [worldOf(pose, a), worldOf(pose, b)];
  return [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2, (p[2] + q[2]) / 2];
}

/** Rows of shoulders, arms, hips and legs. */
export const body = [
  joint.shoulderL,
  joint.shoulderR,
  joint.elbowL,
  joint.elbowR,
  joint.wristL,
  joint.wristR,
  joint.hipL,
  joint.hipR,
  joint.kneeL,
  joint.kneeR,
  joint.ankleL,
  joint.ankleR,
];

/** Picture pixels per metre at the person: the least-squares slope of picture points on world points, 0 when undefined. */
export function pxPerMetre(pose: Pose): number {
  let mx = 0,
    my = 0,
    wx = 0,
    wy = 0;
  for (const row of body) {
    mx += pose.points[row * pointWidth]!;
    my += pose.points[row * pointWidth + 1]!;
    wx += pose.world[row * worldWidth]!;
    wy += pose.world[row * worldWidth + 1]!;
  }
  const n = body.length;
  let top = 0,
    bottom = 0;
  for (const row of body) {
    const dx = pose.world[row * worldWidth]! - wx / n;
    const dy = pose.world[row * worldWidth + 1]! - wy / n;
    top += dx * (pose.points[row * pointWidth]! - mx / n) + dy * (pose.points[row * pointWidth + 1]! - my / n);
    bottom += dx * dx + dy * dy;
  }
  return bottom > 0 ? Math.max(0, top / bottom) : 0;
}

/** The box around all joints of a pose, picture pixels, a tenth larger than the joints reach. */
export function boxOf({ pose }: { pose: Pose }): { x: number; y: number; widthPx: number; heightPx: number } {
  let [left, top, right, bottom] = [
    Number.POSITIVE_INFINITY,
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
  ];
  for (let at = 0; at < pose.points.length; at += pointWidth) {
    left = Math.min(left, pose.points[at]!);
    right = Math.max(right, pose.points[at]!);
    top = Math.min(top, pose.points[at + 1]!);
    bottom = Math.max(bottom, pose.points[at + 1]!);
  }
  const [mx, my] = [0.05 * (right - left), 0.05 * (bottom - top)];
  return { x: left - mx, y: top - my, widthPx: right - left + 2 * mx, heightPx: bottom - top + 2 * my };
}

/** A pose moved by so much in the picture, px. */
export function shiftedPose(pose: Pose, x: number, y: number): Pose {
  const points = pose.points.slice();
  for (let at = 0; at < points.length; at += pointWidth) {
    points[at] = points[at]! + x;
    points[at + 1] = points[at + 1]! + y;
  }
  return { ...pose, points, next: { ...pose.next, cx: pose.next.cx + x, cy: pose.next.cy + y } };
}

/** The same course as a still camera would have seen it: points shifted back by the background's movement since the start. */
export function stilled(course: Course, path: readonly { timeS: number; dxShare: number; dyShare: number }[]): Course {
  const shifts = new Map(path.map((step) => [step.timeS, step]));
  const people = course.people.map((person) => ({
    ...person,
    samples: person.samples.map((sample) => {
      const step = shifts.get(sample.timeS);
      if (!step) return sample;
      return { ...sample, pose: shiftedPose(sample.pose, -step.dxShare * course.widthPx, -step.dyShare * course.widthPx) };
    }),
  }));
  return { ...course, people };
}

import type { TurnDeg } from '../media/turn.ts';
import { joint, type Pose, pointWidth, worldWidth } from '../pose/types.ts';
import { type Course, middlePx, middleWorld, visibilityOf, worldOf } from './course.ts';

/** A person counts as standing straight when trunk and legs are this close to one line, degrees. */
const straightDeg = 25;
/** Fewest straight poses, and share of all poses, that tell which way is up. */
const least = { poses: 6, share: 0.12 };

/** Direction of a standing body in the picture, degrees clockwise from straight up, or null when this pose is not straight. */
function standingDeg(pose: Pose): number | null {
  const [sx, sy, sz] = middleWorld(pose, joint.shoulderL, joint.shoulderR);
  const [ax, ay, az] = middleWorld(pose, joint.ankleL, joint.ankleR);
  const [kx, ky, kz] = middleWorld(pose, joint.kneeL, joint.kneeR);
  const between = (a: number[], b: number[]) => {
    const dot = a.reduce((sum, v, i) => sum + v * b[i]!, 0);
    return (Math.acos(Math.max(-1, Math.min(1, dot / (Math.hypot(...a) * Math.hypot(...b) || 1)))) * 180) / Math.PI;
  };
  const trunk = [sx, sy, sz];
  const thigh = [-kx, -ky, -kz];
  const shank = [kx - ax, ky - ay, kz - az];
  if (between(trunk, thigh) > straightDeg || between(thigh, shank) > straightDeg) return null;
  if (visibilityOf(pose, joint.ankleL) < 0.3 && visibilityOf(pose, joint.ankleR) < 0.3) return null;
  const head = middlePx(pose, joint.shoulderL, joint.shoulderR);
  const feet = middlePx(pose, joint.ankleL, joint.ankleR);
  return (Math.atan2(head.x - feet.x, feet.y - head.y) * 180) / Math.PI;
}

/**
 * By how much the played picture must be turned clockwise so that people who stand straight stand upright; `sure` 0..1. Lying lifters do not count:
 * only straight bodies tell. null when nobody stands straight for long enough.
 */
export function turnNeeded(course: Course): { turnDeg: TurnDeg; sure: number } | null {
  let total = 0;
  const counts = new Map<TurnDeg, number>();
  for (const { samples } of course.people) {
    for (const { pose } of samples) {
      total++;
      const deg = standingDeg(pose);
      if (deg === null) continue;
      const quarter = ((Math.round(-deg / 90) * 90 + 720) % 360) as TurnDeg;
      counts.set(quarter, (counts.get(quarter) ?? 0) + 1);
    }
  }
  const straight = [...counts.values()].reduce((a, b) => a + b, 0);
  if (straight < least.poses || straight < least.share * total) return null;
  const [turnDeg, count] = [...counts].sort((a, b) => b[1] - a[1])[0]!;
  return { turnDeg, sure: count / straight };
}

function turnPose(pose: Pose, turnDeg: TurnDeg, widthPx: number, heightPx: number): Pose {
  const points = pose.points.slice();
  const world = pose.world.slice();
  const turn = (x: number, y: number): [number, number] => (turnDeg === 90 ? [-y, x] : turnDeg === 180 ? [-x, -y] : [y, -x]);
  const shift: [number, number] = turnDeg === 90 ? [heightPx, 0] : turnDeg === 180 ? [widthPx, heightPx] : [0, widthPx];
  for (let at = 0; at < points.length; at += pointWidth) {
    const [x, y] = turn(points[at]!, points[at + 1]!);
    points[at] = x + shift[0];
    points[at + 1] = y + shift[1];
  }
  for (let row = 0; row * worldWidth < world.length; row++) {
    const [wx, wy] = worldOf(pose, row);
    const [x, y] = turn(wx, wy);
    world[row * worldWidth] = x;
    world[row * worldWidth + 1] = y;
  }
  return { ...pose, points, world };
}

/** The same course as if the picture had been turned clockwise by `turnDeg`; the regions of the poses stay those of the played picture. */
export function turnCourse(course: Course, turnDeg: TurnDeg): Course {
  if (turnDeg === 0) return course;
  const { widthPx, heightPx } = course;
  const people = course.people.map((person) => ({
    ...person,
    samples: person.samples.map((s) => ({ ...s, pose: turnPose(s.pose, turnDeg, widthPx, heightPx) })),
  }));
  const across = turnDeg === 180;
  return { ...course, widthPx: across ? widthPx : heightPx, heightPx: across ? heightPx : widthPx, people };
}

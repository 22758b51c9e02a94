import { joint, type Pose, pointWidth } from '../pose/types.ts';
import type { FlowStep } from './bar-flow.ts';
import { followedS, middlePx, middleWorld, type Person, pxPerMetre, visibilityOf, worldOf } from './course.ts';
import { even, median, type Signal, smooth } from './series.ts';

/** Heights of a person's joints over time, in metres upwards in the picture, and how upright the trunk is. All on the same even steps. */
export interface Movement {
  startS: number;
  stepS: number;
  /** Picture pixels per metre at the person. */
  pxPerM: number;
  shoulder: number[];
  hip: number[];
  wrist: number[];
  ankle: number[];
  /** Places along the picture's width in metres. */
  shoulderAcross: number[];
  hipAcross: number[];
  ankleAcross: number[];
  /** Sine of the trunk's angle above the horizontal: 1 upright, 0 lying. */
  trunkUp: number[];
  /** How far one ankle is before the other in the way the lifter faces, metres: large in a lunge or a split. */
  splitM: number[];
  /** Height of the bar by what moves around the hands, metres from where it was first seen; null when it was not followed. */
  bar: number[] | null;
}

/** Steps of the signals, the rate at which frames are looked at, and their smoothing: a tenth of the quickest rep's second. */
const [stepS, sigmaS] = [1 / 15, 0.1];

/** Height of a pair of joints in pixels; the one that is seen counts more. */
function seenMiddle(person: Person, a: number, b: number): number[] {
  return person.samples.map(({ pose }) => {
    const wa = 0.05 + visibilityOf(pose, a);
    const wb = 0.05 + visibilityOf(pose, b);
    return (wa * pose.points[a * pointWidth + 1]! + wb * pose.points[b * pointWidth + 1]!) / (wa + wb);
  });
}

/** How far one ankle is before the other, metres, seen from above across the line of shoulders and hips. */
function splitOf(pose: Pose): number {
  const between = (left: number, right: number) => {
    const [l, r] = [worldOf(pose, left), worldOf(pose, right)];
    return { x: l[0] - r[0], z: l[2] - r[2] };
  };
  const [shoulders, hips] = [between(joint.shoulderL, joint.shoulderR), between(joint.hipL, joint.hipR)];
  const ankles = between(joint.ankleL, joint.ankleR);
  const [x, z] = [shoulders.x + hips.x, shoulders.z + hips.z];
  return Math.abs(x * ankles.z - z * ankles.x) / Math.max(1e-6, Math.hypot(x, z));
}

/** Least share of a person's time in which what moves around the hands was followed (chosen: a gap in it may hide a part of a rep). */
const leastFollowed = 0.8;

/** The bar's height at each of a person's samples, pixels upwards from the first; null when it was not followed for most of the time. */
function barPx({ id, samples }: Person, flow: readonly FlowStep[]): number[] | null {
  const steps = flow.filter((step) => step.personId === id);
  const seenS = steps.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0);
  if (seenS < leastFollowed * followedS(samples)) return null;
  let [next, height] = [0, 0];
  return samples.map(({ timeS }) => {
    while (next < steps.length && steps[next]!.toS <= timeS) height += steps[next++]!.upPx;
    return height;
  });
}

/** The movement of a person with at least two samples; `flow`: what moved around the hands, as a still camera would have seen it. */
export function movementOf(person: Person, flow: readonly FlowStep[] = []): Movement {
  const timesS = person.samples.map((s) => s.timeS);
  const pxPerM = Math.max(1, median(person.samples.map((s) => pxPerMetre(s.pose))));
  const calm = (values: number[]): Signal => smooth(even(timesS, values, stepS), sigmaS);
  const up = (px: number[]) => calm(px.map((y) => -y / pxPerM)).values;
  const across = (l: number, r: number) => calm(person.samples.map(({ pose }) => middlePx(pose, l, r).x / pxPerM)).values;
  const trunk = person.samples.map(({ pose }) => {
    const [x, y, z] = middleWorld(pose, joint.shoulderL, joint.shoulderR);
    return -y / Math.max(1e-6, Math.hypot(x, y, z));
  });
  const bar = barPx(person, flow);
  return {
    startS: timesS[0]!,
    stepS,
    pxPerM,
    shoulder: up(seenMiddle(person, joint.shoulderL, joint.shoulderR)),
    hip: up(seenMiddle(person, joint.hipL, joint.hipR)),
    wrist: up(seenMiddle(person, joint.wristL, joint.wristR)),
    ankle: up(seenMiddle(person, joint.ankleL, joint.ankleR)),
    shoulderAcross: across(joint.shoulderL, joint.shoulderR),
    hipAcross: across(joint.hipL, joint.hipR),
    ankleAcross: across(joint.ankleL, joint.ankleR),
    trunkUp: calm(trunk).values,
    splitM: calm(person.samples.map(({ pose }) => splitOf(pose))).values,
    bar: bar && calm(bar.map((px) => px / pxPerM)).values,
  };
}

import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts, LiftId } from '../../src/facts/facts.ts';
import { sideOf, viewClassOf, wrapDeg } from '../../src/facts/view.ts';
import { joint, type Pose } from '../pose/types.ts';
import { guess, type Layer, type Nets, ownNets } from './camera-net.ts';
import { middleWorld, type Vec3, worldOf } from './course.ts';

type ViewFact = Facts['view'];

const pairs = [
  [joint.shoulderL, joint.shoulderR],
  [joint.hipL, joint.hipR],
  [joint.elbowL, joint.elbowR],
  [joint.kneeL, joint.kneeR],
  [joint.ankleL, joint.ankleR],
] as const;

/** Fewest poses for a view. */
const leastPoses = 4;
/**
 * Weights of what points to the foot end of a bench against the lines across the body: the line from shoulders to hips, and both feet from heel to
 * toe (short, but seen clearly from most sides). Chosen on rendered clips, checked on real ones.
 */
const lyingWeights = { trunk: 1, feet: 6 };

/** Lines across the lifter (from right to left) in one pose, seen from above: [x, z] in metres, not normalised: a wide, sure line weighs more. */
function acrossOf(pose: Pose, lying: boolean): [x: number, z: number][] {
  const lines = pairs.map(([l, r]): [number, number] => {
    const [a, b] = [worldOf(pose, l), worldOf(pose, r)];
    return [a[0] - b[0], a[2] - b[2]];
  });
  if (lying) {
    const head: Vec3 = middleWorld(pose, joint.shoulderL, joint.shoulderR);
    // what points to the foot end, turned by a quarter, is the lifter's left
    lines.push([lyingWeights.trunk * head[2], -lyingWeights.trunk * head[0]]);
    for (const [heel, toe] of [
      [joint.heelL, joint.toeL],
      [joint.heelR, joint.toeR],
    ] as const) {
      const [a, b] = [worldOf(pose, heel), worldOf(pose, toe)];
      const half = lyingWeights.feet / 2;
      lines.push([-half * (b[2] - a[2]), half * (b[0] - a[0])]);
    }
  }
  return lines;
}

const toDeg = 180 / Math.PI;

/** What one pose says of the azimuth: a direction and how much it counts. */
interface Vote {
  rad: number;
  weight: number;
}

/** Sum of the lines' lengths, m, with which a pose counts fully: shoulders, hips, elbows, knees and ankles seen square from the front. */
const fullLengthM = { standing: 1.6, lying: 3 };
/** Weight of the lines against the networks: on rendered clips left out of training less of it is better, real ones bear it. */
const linesWeight = 0.4;
/** A vote counts by how near it is: exp(narrow * (cos - 1)), a half at about 28 degrees. Measured: 3 to 12 do about as well. */
const narrow = 6;
/** Below this share of the votes near the best direction nothing is said. */
const leastShare = 0.3;

/** The lines across the body, summed in their length: a wide, sure line weighs more, and so does a pose with many of them. */
function geometryVote(pose: Pose, lying: boolean): Vote {
  const [x, z] = acrossOf(pose, lying).reduce(([sx, sz], [lx, lz]) => [sx + lx, sz + lz], [0, 0]);
  const length = Math.hypot(x, z) / (lying ? fullLengthM.lying : fullLengthM.standing);
  return { rad: Math.atan2(-z, x), weight: linesWeight * Math.min(1.3, length) ** 2 };
}

function learnedVote(pose: Pose, nets: readonly Layer[][]): Vote {
  const [cos, sin] = guess('azimuth', pose, nets) as [number, number];
  return { rad: Math.atan2(sin, cos), weight: Math.min(1.1, Math.hypot(cos, sin)) ** 2 };
}

/** Direction with the most votes near it, to half a degree, and the share of all votes that are. */
function fullest(votes: readonly Vote[]): { deg: number; share: number } {
  const all = votes.reduce((sum, { weight }) => sum + weight, 0);
  let best = { deg: 0, share: 0 };
  for (let deg = -180; deg < 180; deg += 0.5) {
    const near = votes.reduce((sum, { rad, weight }) => sum + weight * Math.exp(narrow * (Math.cos(rad - deg / toDeg) - 1)), 0);
    if (near > best.share * all) best = { deg, share: near / all };
  }
  return best;
}

/**
 * How far off the azimuth may be, degrees, by what warns of it: that lines and networks differ (each degree), how unsure the networks are (its root),
 * that votes point the other way. Fitted on labelled real clips and on rendered ones, whose azimuth is known, so that nine in ten lie within. From
 * `most` on nothing is told: half of all directions lie within.
 */
const spreads = { least: 4, most: 90, away: 65, standing: { apart: 0.75, unsure: 45 }, lying: { apart: 0.5, unsure: 25 } };

/**
 * Where the camera stands around the lifter, one angle from all poses of the lift together (the camera stands still): the direction that most
 * of them agree on, so that poses seen the wrong way round do not pull. Two kinds of vote: the lines across the body in the pose model's own
 * space, and networks that look at where the body's points lie in the picture. The truth lies within `spread` degrees nine times in ten.
 * `nets`: null for the lines alone.
 */
export function viewOf(poses: readonly Pose[], lift: LiftId, nets: Nets | null = ownNets('azimuth')): ViewFact {
  if (poses.length < leastPoses) return unknown('too-few-frames');
  const lying = lift === 'bench';
  const lines = poses.map((pose) => geometryVote(pose, lying));
  const learned = nets ? poses.map((pose) => learnedVote(pose, lying ? nets.lying : nets.standing)) : [];
  const votes = [...lines, ...learned];
  const { deg, share } = fullest(votes);
  if (share < leastShare) return unknown('ambiguous');
  const azimuthDeg = wrapDeg(deg);
  const all = votes.reduce((sum, { weight }) => sum + weight, 0);
  const away = votes.reduce((sum, { rad, weight }) => sum + (Math.cos(rad - deg / toDeg) < 0 ? weight : 0), 0) / all;
  const apart = nets ? Math.abs(wrapDeg(fullest(lines).deg - fullest(learned).deg)) : 0;
  const unsure = nets ? 1 - learned.reduce((sum, { weight }) => sum + Math.min(1, Math.sqrt(weight)), 0) / learned.length : 0;
  const by = lying ? spreads.lying : spreads.standing;
  const warned = by.apart * apart + by.unsure * Math.sqrt(Math.max(0, unsure)) + spreads.away * away;
  if (warned >= spreads.most) return unknown('ambiguous');
  const spread = Math.max(spreads.least, warned);
  const confidence = Math.max(0.5, Math.min(0.99, 1 - 1.2 * away - 0.6 * Math.max(0, 0.75 - share)));
  return known(viewFrom(azimuthDeg), {
    spread: Math.round(spread * 10) / 10,
    confidence: Math.round(confidence * 100) / 100,
  }) satisfies Fact<unknown>;
}

const viewFrom = (azimuthDeg: number) => {
  const tenth = Math.round(azimuthDeg * 10) / 10;
  return { azimuthDeg: tenth, class: viewClassOf(azimuthDeg), side: sideOf(azimuthDeg) };
};

/** The view from another azimuth, as sure as before. */
export const seenFrom = (view: ViewFact, azimuthDeg: number): ViewFact =>
  view.known ? { ...view, value: viewFrom(wrapDeg(azimuthDeg)) } : view;

/** Poses whose view is spread wider are not all of one body. Measured: lifts read right and surely at most 40 degrees, a crowd read as a lifter 60 to 90. */
const oneBodyDeg = 45;

/** Whether poses that gave such a view face some way, as those of one body do. */
export const facesSomeWay = (view: ViewFact): boolean => view.known && (view.spread ?? 0) < oneBodyDeg;

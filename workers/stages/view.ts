import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts, LiftId } from '../../src/facts/facts.ts';
import { sideOf, viewClassOf, wrapDeg } from '../../src/facts/view.ts';
import { joint, type Pose } from '../pose/types.ts';
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

/**
 * Where the camera stands around the lifter, one angle from all poses of the lift together (the camera stands still). `spread` widens as the
 * lines disagree; `confidence` falls with the share of poses that point the other way.
 */
export function viewOf(poses: readonly Pose[], lift: LiftId): ViewFact {
  if (poses.length < leastPoses) return unknown('too-few-frames');
  const lying = lift === 'bench';
  let x = 0;
  let z = 0;
  let length = 0;
  const each = poses.map((pose) => {
    let px = 0;
    let pz = 0;
    for (const [lx, lz] of acrossOf(pose, lying)) {
      px += lx;
      pz += lz;
      length += Math.hypot(lx, lz);
    }
    x += px;
    z += pz;
    return Math.atan2(-pz, px) * toDeg;
  });
  if (length === 0) return unknown('lifter-unclear');
  const azimuthDeg = wrapDeg(Math.atan2(-z, x) * toDeg);
  const agreement = Math.hypot(x, z) / length;
  const against = each.filter((deg) => Math.abs(wrapDeg(deg - azimuthDeg)) > 90).length / each.length;
  const spread = Math.min(90, (lying ? 16 : 12) + 45 * (1 - agreement));
  const confidence = Math.max(0.5, Math.min(0.99, 1 - 1.2 * against - 0.6 * Math.max(0, 0.75 - agreement)));
  if (agreement < 0.3) return unknown('ambiguous');
  const value = { azimuthDeg: Math.round(azimuthDeg * 10) / 10, class: viewClassOf(azimuthDeg), side: sideOf(azimuthDeg) };
  return known(value, {
    spread: Math.round(spread * 10) / 10,
    confidence: Math.round(confidence * 100) / 100,
  }) satisfies Fact<unknown>;
}

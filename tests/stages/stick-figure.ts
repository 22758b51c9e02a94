import * as THREE from 'three';
import { joint, type Pose } from '../../workers/pose/types.ts';
import type { FlowStep } from '../../workers/stages/bar-flow.ts';
import type { Course, Sample } from '../../workers/stages/course.ts';
import { movementOf } from '../../workers/stages/movement.ts';

type Place = [x: number, y: number, z: number];
type Joints = Record<number, Place>;

/**
 * Joints of a person of 1.73 m in metres, x to their left, y up from the floor, z the way they face. Heights and lengths as shares of the stature
 * from Drillis and Contini (1966), as in Winter, Biomechanics and Motor Control of Human Movement: shoulder 0.818, hip 0.530, knee 0.285, ankle
 * 0.039, upper arm 0.186, forearm 0.146, shoulders 0.259 wide, hips 0.191.
 */
export const stature = 1.73;
const of = (share: number) => share * stature;

/** Squatting down by `depth` 0..1, hands at the shoulders as under a bar, trunk leaning forward on the way. */
export function squatting(depth: number): Joints {
  const hipY = of(0.53) - depth * 0.42;
  const lean = 0.12 + depth * 0.5;
  const trunk = of(0.818 - 0.53);
  const shoulder: Place = [0, hipY + trunk * Math.cos(lean), -0.05 - depth * 0.2 + trunk * Math.sin(lean)];
  const hipZ = -0.05 - depth * 0.2;
  const side = (s: 1 | -1): Joints => {
    const l = s === 1;
    const sx = (s * of(0.259)) / 2;
    return {
      [l ? joint.shoulderL : joint.shoulderR]: [sx, shoulder[1], shoulder[2]],
      [l ? joint.elbowL : joint.elbowR]: [sx + s * 0.12, shoulder[1] - 0.2, shoulder[2] - 0.1],
      [l ? joint.wristL : joint.wristR]: [sx + s * 0.15, shoulder[1] - 0.02, shoulder[2] - 0.05],
      [l ? joint.hipL : joint.hipR]: [(s * of(0.191)) / 2, hipY, hipZ],
      [l ? joint.kneeL : joint.kneeR]: [s * 0.18, of(0.285), 0.02 + depth * 0.25],
      [l ? joint.ankleL : joint.ankleR]: [s * 0.19, of(0.039), -0.07],
      [l ? joint.heelL : joint.heelR]: [s * 0.19, 0.02, -0.1],
      [l ? joint.toeL : joint.toeR]: [s * 0.24, 0.02, 0.13],
    };
  };
  const head: Joints = {
    [joint.nose]: [0, shoulder[1] + 0.2, shoulder[2] + 0.1],
    [joint.earL]: [0.07, shoulder[1] + 0.22, shoulder[2]],
    [joint.earR]: [-0.07, shoulder[1] + 0.22, shoulder[2]],
  };
  return { ...side(1), ...side(-1), ...head };
}

/** Hands hanging, then bent to the floor (`depth` 1) as in a pull with a bar. */
export function pulling(depth: number): Joints {
  const joints = squatting(depth * 0.55);
  const lean = 0.03 + depth * 0.95;
  const trunk = of(0.818 - 0.53);
  const hip = joints[joint.hipL]!;
  for (const s of [1, -1] as const) {
    const l = s === 1;
    const shoulder: Place = [(s * of(0.259)) / 2, hip[1] + trunk * Math.cos(lean), hip[2] + trunk * Math.sin(lean)];
    joints[l ? joint.shoulderL : joint.shoulderR] = shoulder;
    joints[l ? joint.elbowL : joint.elbowR] = [shoulder[0] + s * 0.05, shoulder[1] - of(0.186), shoulder[2]];
    joints[l ? joint.wristL : joint.wristR] = [shoulder[0] + s * 0.05, shoulder[1] - of(0.186 + 0.146), shoulder[2]];
  }
  return joints;
}

/** Down by `depth` as in a squat, with the feet one step apart: a lunge. */
export function lunging(depth: number, stepM = 0.8): Joints {
  const joints = squatting(depth);
  const moved = (row: number, byM: number) => {
    const [x, y, z] = joints[row]!;
    joints[row] = [x, y, z + byM];
  };
  for (const row of [joint.ankleL, joint.heelL, joint.toeL]) moved(row, stepM / 2);
  for (const row of [joint.ankleR, joint.heelR, joint.toeR]) moved(row, -stepM / 2);
  return joints;
}

/** Lying on a bench, head to the back (foot end in front), hands over the chest: up at `depth` 0, down at 1. */
export function lying(depth: number): Joints {
  const benchY = 0.5;
  const trunk = of(0.818 - 0.53);
  const side = (s: 1 | -1): Joints => {
    const l = s === 1;
    const shoulder: Place = [(s * of(0.259)) / 2, benchY + 0.1, -trunk];
    return {
      [l ? joint.shoulderL : joint.shoulderR]: shoulder,
      [l ? joint.elbowL : joint.elbowR]: [s * (0.25 + 0.2 * depth), benchY + 0.35 - 0.35 * depth, -trunk + 0.1],
      [l ? joint.wristL : joint.wristR]: [s * 0.35, benchY + 0.65 - 0.4 * depth, -trunk + 0.12],
      [l ? joint.hipL : joint.hipR]: [(s * of(0.191)) / 2, benchY + 0.08, 0],
      [l ? joint.kneeL : joint.kneeR]: [s * 0.25, benchY, of(0.245)],
      [l ? joint.ankleL : joint.ankleR]: [s * 0.27, of(0.039), of(0.245) - 0.05],
      [l ? joint.heelL : joint.heelR]: [s * 0.27, 0.02, of(0.245) - 0.09],
      [l ? joint.toeL : joint.toeR]: [s * 0.3, 0.02, of(0.245) + 0.13],
    };
  };
  return { ...side(1), ...side(-1), [joint.nose]: [0, benchY + 0.25, -trunk - 0.2] };
}

export interface Stand {
  azimuthDeg: number;
  heightM: number;
  distanceM: number;
}

/**
 * The joints as three.js's perspective camera sees them: pixels of a widthPx x heightPx picture and metres in the camera's axes from the middle of
 * the hips. The camera stands at an azimuth, height and distance and looks at the middle of the body. Joints not given lie at the hips.
 */
export function poseOf(joints: Joints, stand: Stand, [widthPx, heightPx]: readonly [number, number], longFovDeg: number): Pose {
  const vertical =
    heightPx >= widthPx
      ? longFovDeg
      : (2 * Math.atan((Math.tan((longFovDeg * Math.PI) / 360) * heightPx) / widthPx) * 180) / Math.PI;
  const camera = new THREE.PerspectiveCamera(vertical, widthPx / heightPx, 0.01, 100);
  const a = (stand.azimuthDeg * Math.PI) / 180;
  camera.position.set(stand.distanceM * Math.sin(a), stand.heightM, stand.distanceM * Math.cos(a));
  camera.lookAt(0, 0.95, 0);
  camera.updateMatrixWorld();
  const [l, r] = [joints[joint.hipL]!, joints[joint.hipR]!];
  const hip = new THREE.Vector3((l[0] + r[0]) / 2, (l[1] + r[1]) / 2, (l[2] + r[2]) / 2);
  // the pose model's axes follow the line of sight to the person, not the camera's own axis
  const sight = new THREE.PerspectiveCamera();
  sight.position.copy(camera.position);
  sight.lookAt(hip);
  const turn = sight.quaternion.clone().invert();
  const pxPerM = Math.max(widthPx, heightPx) / 2 / Math.tan((longFovDeg * Math.PI) / 360) / camera.position.distanceTo(hip);
  const points = new Float32Array(33 * 5);
  const world = new Float32Array(33 * 3);
  for (let row = 0; row < 33; row++) {
    const place = joints[row] ? new THREE.Vector3(...joints[row]!) : hip.clone();
    const seen = place.clone().project(camera);
    const local = place.clone().sub(hip).applyQuaternion(turn);
    points.set([((seen.x + 1) / 2) * widthPx, ((1 - seen.y) / 2) * heightPx, -local.z * pxPerM, 1, 1], row * 5);
    world.set([local.x, -local.y, -local.z], row * 3);
  }
  return { presence: 1, points, world, next: { cx: 0, cy: 0, sidePx: 1, angleRad: 0 } };
}

/** A course of one person at 15 frames a second whose joints at each time are given. */
export function courseOf(jointsAt: (timeS: number) => Joints, lengthS: number, stand: Stand): Course {
  const size = [288, 512] as const;
  const timesS = Array.from({ length: Math.round(lengthS * 15) }, (_, i) => i / 15);
  const samples: Sample[] = timesS.map((timeS) => ({ timeS, pose: poseOf(jointsAt(timeS), stand, size, 69.4) }));
  return { widthPx: size[0], heightPx: size[1], timesS, people: [{ id: 1, samples }] };
}

/** 0 at rest, 1 at the turn, for reps that start at the given times and take 2.4 s. */
export const depthOf = (starts: number[]) => (timeS: number) => {
  const start = starts.find((s) => timeS >= s && timeS <= s + 2.4);
  return start === undefined ? 0 : (1 - Math.cos(((timeS - start) / 2.4) * 2 * Math.PI)) / 2;
};

/** What moves around the hands of the one person of a course, by its height in metres. */
export function flowOf({ people: [person] }: Course, heightAt: (timeS: number) => number): FlowStep[] {
  const { pxPerM } = movementOf(person!);
  return person!.samples.slice(1).map(({ timeS: toS }, i) => {
    const fromS = person!.samples[i]!.timeS;
    return { personId: person!.id, fromS, toS, upPx: pxPerM * (heightAt(toS) - heightAt(fromS)) };
  });
}

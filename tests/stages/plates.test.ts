import * as THREE from 'three';
import { describe, expect, it } from 'vitest';
import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import { cropRegion } from '../../workers/pose/crop.ts';
import { joint } from '../../workers/pose/types.ts';
import { barInView } from '../../workers/stages/bar-in-view.ts';
import type { Sample } from '../../workers/stages/course.ts';
import { measurePeople } from '../../workers/stages/measure.ts';
import { platesOf } from '../../workers/stages/plates.ts';
import { createTexture, paint } from './scene.ts';
import { poseOf, squatting } from './stick-figure.ts';

/** The rules of weightlifting (IWF) and powerlifting (IPF), from memory: plates of 450 mm, 1.31 m between the collars, which are 3 cm wide. */
const plate = { radiusM: 0.225, alongM: 0.685 };
const size = [360, 640] as const;
/** A phone's main camera: 26 mm equivalent, 36 mm film, along the long side. */
const longFovDeg = 2 * Math.atan(18 / 26) * (180 / Math.PI);
const focalPx = size[1] / 2 / Math.tan((longFovDeg * Math.PI) / 360);
const toDeg = 180 / Math.PI;

type Stand = { azimuthDeg: number; heightM: number; distanceM: number };

function cameraAt({ azimuthDeg, heightM, distanceM }: Stand) {
  const camera = new THREE.PerspectiveCamera(longFovDeg, size[0] / size[1], 0.01, 100);
  camera.position.set(distanceM * Math.sin(azimuthDeg / toDeg), heightM, distanceM * Math.cos(azimuthDeg / toDeg));
  camera.lookAt(0, 0.95, 0);
  camera.updateMatrixWorld();
  return camera;
}

/** How far up a camera looks that stands so, degrees. */
const pitchDegOf = ({ heightM, distanceM }: Stand) => Math.atan2(0.95 - heightM, distanceM) * toDeg;

/** A squat's joints, the hands around a bar over the feet a little beyond the knuckles, and how high it is. */
function underBar(depth: number) {
  const joints = squatting(depth);
  for (const [wrist, index, pinky] of [
    [joint.wristL, joint.indexL, joint.pinkyL],
    [joint.wristR, joint.indexR, joint.pinkyR],
  ] as const) {
    const [x, y] = joints[wrist]!;
    joints[wrist] = [x, y, 0];
    joints[index] = [x, y + 0.08, 0];
    joints[pinky] = joints[index];
  }
  return { joints, barY: joints[joint.indexL]![1] + 0.016 };
}

/** A squat goes down and up in so many seconds. */
const repS = 2.75;
const depthAt = (timeS: number) => (1 - Math.cos((timeS / repS) * 2 * Math.PI)) / 2;

/**
 * Looks at a squat, cut out of pictures of dark plates before a wall, as rays through three.js's perspective camera meet them. `radiusM`: of the
 * plates; `alongM`: where they stand on the bar; `fromM`: how far below the bar they are hidden by something like the wall.
 */
function looksAt(
  stand: Stand,
  { radiusM, alongM, fromM = -1 }: typeof plate & { fromM?: number } = plate,
  timesS = Array.from({ length: 12 }, (_, i) => i / 4),
): Sample[] {
  const camera = cameraAt(stand);
  const corner = (x: number, y: number) => new THREE.Vector3(x, y, -1).unproject(camera);
  const [origin, right, down] = [corner(-1, 1), corner(1, 1), corner(-1, -1)];
  const wall = createTexture(5);
  const faces = [-1, 1].flatMap((side) => [0, 0.02, 0.05].map((outM) => side * (alongM + outM)));
  return timesS.map((timeS) => {
    const { joints, barY } = underBar(depthAt(timeS));
    const picture = paint(...size, timeS, (x, y) => {
      const [u, v] = [(x + 0.5) / size[0], (y + 0.5) / size[1]];
      const ray = origin
        .clone()
        .addScaledVector(right.clone().sub(origin), u)
        .addScaledVector(down.clone().sub(origin), v)
        .sub(camera.position);
      const meets = faces.some((atX) => {
        const far = (atX - camera.position.x) / ray.x;
        const [upM, aheadM] = [camera.position.y + far * ray.y - barY, camera.position.z + far * ray.z];
        return far > 0 && upM > fromM && Math.hypot(upM, aheadM) < radiusM;
      });
      return meets ? 30 : 120 + wall(x, y) / 2;
    });
    const pose = poseOf(joints, stand, size, longFovDeg);
    const hips = { x: pose.points[joint.hipL * 5]!, y: pose.points[joint.hipL * 5 + 1]! };
    const region = { cx: hips.x, cy: hips.y, sidePx: (2.4 * focalPx) / stand.distanceM, angleRad: 0 };
    return { timeS, pose, square: { region, crop: cropRegion(picture, region) } };
  });
}

const setting = (stand: Stand, { hipsM, turnedDeg = 0 }: { hipsM: number; turnedDeg?: number }) => ({
  ...{
    lift: 'squat' as const,
    azimuthDeg: stand.azimuthDeg + turnedDeg,
    pitchDeg: pitchDegOf(stand),
    sightDeg: pitchDegOf(stand),
    hipsM,
    focalPx,
  },
  picture: { widthPx: size[0], heightPx: size[1] },
});

describe('the bar in view, against three.js', () => {
  it.each([
    { azimuthDeg: 5, heightM: 0.95, distanceM: 3 },
    { azimuthDeg: 40, heightM: 1.6, distanceM: 2.5 },
    { azimuthDeg: -120, heightM: 0.5, distanceM: 4 },
    { azimuthDeg: 170, heightM: 1.9, distanceM: 3 },
  ])('sees its ends from $azimuthDeg degrees, $heightM m high, as a camera does', (stand) => {
    const camera = cameraAt(stand);
    const inPicture = (x: number, y: number, z: number) => {
      const seen = new THREE.Vector3(x, y, z).project(camera);
      return { x: ((seen.x + 1) / 2) * size[0], y: ((1 - seen.y) / 2) * size[1] };
    };
    const awayM = -new THREE.Vector3(0, 1.4, 0).applyMatrix4(camera.matrixWorldInverse).z;
    const end = barInView(setting(stand, { hipsM: awayM }), 0);
    const nearer = Math.sin(stand.azimuthDeg / toDeg) >= 0 ? 1 : -1;
    for (const [which, side] of [
      ['near', nearer],
      ['far', -nearer],
    ] as const) {
      const { middle, edge } = end(inPicture(0, 1.4, 0), which, 1, 0);
      const truth = inPicture(side * plate.alongM, 1.4, 0);
      expect(Math.hypot(middle.x - truth.x, middle.y - truth.y)).toBeLessThan(0.01);
      const [top, ahead] = [edge(0.1, Math.PI / 2), edge(0.1, 0)];
      const outside = side * (plate.alongM + 0.1);
      const [above, before] = [inPicture(outside, 1.4 + plate.radiusM, 0), inPicture(outside, 1.4, plate.radiusM)];
      expect(Math.hypot(top.x - above.x, top.y - above.y)).toBeLessThan(0.01);
      expect(Math.hypot(ahead.x - before.x, ahead.y - before.y)).toBeLessThan(0.01);
    }
  });
});

describe('plates, seen by rays', () => {
  const stand = { azimuthDeg: 140, heightM: 1.4, distanceM: 3 };
  const looks = looksAt(stand);

  it.each([0.88, 1, 1.12])('tell that a lifter is %d times as far as an average one who looks as large', (stretch) => {
    const found = platesOf(looks, setting(stand, { hipsM: 3 / stretch }));
    // what is known before draws the farther ones a little
    expect(Math.abs(Math.log(found!.stretch / stretch))).toBeLessThan(0.04);
  });

  it.each([-5, 5])('tell most of it where the body says %d degrees too many', (turnedDeg) => {
    const found = platesOf(looks, setting(stand, { hipsM: 3, turnedDeg }));
    expect(Math.abs(found!.azimuthDeg - stand.azimuthDeg)).toBeLessThan(2);
  });

  it('tell nothing where there are none, smaller ones, parts of them, too few looks, another lift or a camera beside the bar', () => {
    const at = setting(stand, { hipsM: 3 });
    expect(platesOf(looksAt(stand, { ...plate, radiusM: 0 }), at)).toBeNull();
    expect(platesOf(looksAt(stand, { ...plate, radiusM: 0.12 }), at)).toBeNull();
    expect(platesOf(looksAt(stand, { ...plate, fromM: 0.05 }), at)).toBeNull();
    expect(platesOf(looks.slice(0, 3), at)).toBeNull();
    expect(platesOf(looks, at)).not.toBeNull();
    expect(platesOf(looks, { ...at, lift: 'other' })).toBeNull();
    expect(platesOf(looks, { ...at, hipsM: 0.6 })).toBeNull();
    expect(
      platesOf(
        looks.map(({ square, ...look }) => look),
        at,
      ),
    ).toBeNull();
  });

  it('tell the distance of a tall lifter, and where the camera stands', async () => {
    // a lifter 1.1 times as tall and as far away looks the same, but for the plates
    const tall = 1.1;
    const timesS = Array.from({ length: 4 * repS * 15 }, (_, i) => i / 15);
    const samples = timesS.map((timeS) => ({ timeS, pose: poseOf(underBar(depthAt(timeS)).joints, stand, size, longFovDeg) }));
    const smaller = { radiusM: plate.radiusM / tall, alongM: plate.alongM / tall };
    const cut = looksAt(
      stand,
      smaller,
      timesS.filter((_, i) => i % 10 === 0),
    );
    const course = () => ({ widthPx: size[0], heightPx: size[1], timesS, people: [{ id: 1, samples }] });
    const factsOf = (some: Sample[]) =>
      measurePeople(
        { course, lookClosely: async (_, fromS, toS) => some.filter(({ timeS }) => timeS >= fromS && timeS <= toS) },
        unknown('not-measured'),
        { path: [], flow: [], pitchIn: () => known(pitchDegOf(stand), { spread: 0.5 }) },
      );
    const [seen, unseen] = [await factsOf(cut), await factsOf(cut.map(({ square, ...look }) => look))];
    const farM = tall * Math.hypot(stand.distanceM, stand.heightM - 0.92);
    const offM = ({ camera: { distanceM } }: Facts) => Math.abs((distanceM.known ? distanceM.value : 0) - farM);
    expect(offM(seen)).toBeLessThan(0.05 * farM);
    expect(offM(unseen)).toBeGreaterThan(0.05 * farM);
    const offDeg = ({ view }: Facts) => Math.abs((view.known ? view.value.azimuthDeg : 0) - stand.azimuthDeg);
    expect(offDeg(seen)).toBeLessThan(offDeg(unseen));
    expect(seen.camera.distanceM.known && seen.camera.distanceM.spread).toBeLessThan(0.15 * farM);
  });
});

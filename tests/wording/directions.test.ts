import { PerspectiveCamera, Vector3 } from 'three';
import { describe, expect, it } from 'vitest';
import { placeOf, walkBetween } from '../../src/wording/directions.ts';

// Outside reference: a three.js scene. The lifter stands at the origin and faces +z with +y up, so the lifter's left is +x.
const up = new Vector3(0, 1, 0);

/** A camera 3 m from the lifter; the azimuth turns +z (in front) towards +x (the lifter's left). */
function cameraAt(azimuthDeg: number): PerspectiveCamera {
  const camera = new PerspectiveCamera();
  camera.position.copy(new Vector3(0, 0, 3).applyAxisAngle(up, (azimuthDeg * Math.PI) / 180));
  camera.lookAt(0, 0, 0);
  camera.updateMatrixWorld();
  return camera;
}

describe('placeOf', () => {
  it.each([
    0, 10, 30, 45, 60, 80, 90, 100, 120, 135, 150, 170, 180, -10, -30, -45, -60, -80, -90, -100, -120, -135, -150, -170, 225,
    -360,
  ])('names the side on which a three.js camera at %d degrees stands', (azimuthDeg) => {
    const { x, z } = cameraAt(azimuthDeg).position;
    const near = Math.sin((22.5 * Math.PI) / 180) * 3;
    const sides = [z > near ? 'front' : z < -near ? 'rear' : '', x > near ? 'left' : x < -near ? 'right' : ''];
    expect(placeOf(azimuthDeg)).toBe(sides.filter((side) => side !== '').join('-'));
  });

  it("puts the lifter's left hand on the right of a picture taken from the front", () => {
    const leftHand = new Vector3(0.5, 0, 0);
    expect(leftHand.clone().project(cameraAt(0)).x).toBeGreaterThan(0);
    expect(leftHand.clone().project(cameraAt(180)).x).toBeLessThan(0);
    expect(placeOf(90)).toBe('left');
  });
});

describe('walkBetween', () => {
  it('is the angle between both cameras as three.js measures it', () => {
    for (let now = -180; now <= 180; now += 15) {
      for (let wanted = -180; wanted <= 180; wanted += 15) {
        const angle = (cameraAt(now).position.angleTo(cameraAt(wanted).position) * 180) / Math.PI;
        expect(walkBetween(now, wanted).turnDeg).toBeCloseTo(angle, 4);
      }
    }
  });

  it('goes the way on which the half-way point of a three.js walk lies', () => {
    for (let now = -175; now <= 180; now += 5) {
      for (let wanted = -175; wanted <= 180; wanted += 5) {
        const start = cameraAt(now).position;
        const end = cameraAt(wanted).position;
        const { turnDeg, way } = walkBetween(now, wanted);
        if (turnDeg < 10 || turnDeg > 170) continue;
        const half = start.clone().add(end).normalize().multiplyScalar(3);
        if (way === 'to-left') expect(half.x).toBeGreaterThan(start.x);
        if (way === 'to-right') expect(half.x).toBeLessThan(start.x);
        if (way === 'to-rear') expect(end.z).toBeLessThan(start.z);
        if (way === 'to-front') expect(end.z).toBeGreaterThan(start.z);
        if (way.startsWith('across')) {
          expect(Math.sign(start.x)).toBe(-Math.sign(end.x));
          const crossing = start.clone().lerp(end, start.x / (start.x - end.x));
          expect(way).toBe(crossing.z > 0 ? 'across-front' : 'across-rear');
        }
      }
    }
  });

  it.each([
    [0, 135, 135, 'to-left'],
    [0, -45, 45, 'to-right'],
    [180, 135, 45, 'to-left'],
    [-175, -135, 40, 'to-right'],
    [-85, -135, 50, 'to-rear'],
    [110, 50, 60, 'to-front'],
    [168, 135, 33, 'to-left'],
    [20, 135, 115, 'to-left'],
    [-20, 45, 65, 'to-left'],
    [160, -135, 65, 'to-right'],
    [150, -135, 75, 'across-rear'],
    [-40, 45, 85, 'across-front'],
    [90, 180, 90, 'to-rear'],
    [-90, 0, 90, 'to-front'],
  ])('from %d to %d: %d degrees, %s', (now, wanted, turnDeg, way) => {
    expect(walkBetween(now, wanted)).toEqual({ turnDeg, way });
  });
});

import * as THREE from 'three';
import { describe, expect, it } from 'vitest';
import { pitchOf } from '../../workers/stages/uprights.ts';
import { createRandom, paint } from './scene.ts';

const [widthPx, heightPx] = [270, 480];
/** A phone's main camera: 26 mm equivalent, 36 mm film, along the long side. */
const longFovDeg = 2 * Math.atan(18 / 26) * (180 / Math.PI);
/** Samples along each side of a pixel, averaged as a sensor does. */
const perSide = 3;

/** A wall 4 m away, painted with `levelAt(x, y)` (metres along it and up), as three.js's perspective camera sees it. */
function wall(pitchDeg: number, rollDeg: number, levelAt: (x: number, y: number) => number, timeS = 1) {
  const camera = new THREE.PerspectiveCamera(longFovDeg, widthPx / heightPx, 0.1, 100);
  camera.rotation.set((pitchDeg * Math.PI) / 180, 0, (rollDeg * Math.PI) / 180, 'XYZ');
  camera.updateMatrixWorld();
  const corner = (x: number, y: number) => new THREE.Vector3(x, y, -1).unproject(camera);
  const [origin, right, down] = [corner(-1, 1), corner(1, 1), corner(-1, -1)];
  const place = (x: number, y: number) => {
    const [u, v] = [x / widthPx, y / heightPx];
    const at = (axis: 'x' | 'y' | 'z') => origin[axis] + u * (right[axis] - origin[axis]) + v * (down[axis] - origin[axis]);
    const away = -4 / at('z');
    return [away * at('x'), away * at('y')] as const;
  };
  return paint(widthPx, heightPx, timeS, (x, y) => {
    let sum = 0;
    for (let i = 0; i < perSide; i++)
      for (let j = 0; j < perSide; j++) sum += levelAt(...place(x + (i + 0.5) / perSide, y + (j + 0.5) / perSide));
    return sum / perSide ** 2;
  });
}

/** Panels of 0.35 m. */
const panels = (x: number) => (Math.floor(x / 0.35) % 2 === 0 ? 90 : 150);
const noise = (sigma: number) => {
  const random = createRandom(5);
  return () => sigma * (random() + random() + random() - 1.5) * 2;
};

describe('pitch from upright lines, against three.js', () => {
  it.each([-25, -12, -4, 0, 5, 15])('is found at %d degrees', (pitchDeg) => {
    const fact = pitchOf([wall(pitchDeg, 0, panels)], 0, 2, 1);
    if (!fact.known) throw new Error(fact.reason);
    expect(Math.abs(fact.value - pitchDeg)).toBeLessThan(1);
    expect(fact.spread).toBeLessThan(2);
  });

  it('is found with a camera held askew, noise, and a third of the lines leaning', () => {
    const noisy = noise(3);
    const fact = pitchOf([wall(9, 3, (x, y) => panels(x + (y > 0.9 ? 0.2 * y : 0)) + noisy())], 0, 2, 1);
    if (!fact.known) throw new Error(fact.reason);
    expect(Math.abs(fact.value - 9)).toBeLessThan(2);
  });

  it('is read from the pictures of the time asked for, else from the nearest', () => {
    const pictures = [wall(-20, 0, panels, 1), wall(10, 0, panels, 6)];
    const at = (fromS: number, toS: number) => {
      const fact = pitchOf(pictures, fromS, toS, 1);
      return fact.known ? Math.round(fact.value / 5) * 5 : null;
    };
    expect([at(0, 2), at(5, 9), at(3, 3.4), at(20, 30)]).toEqual([-20, 10, -20, 10]);
  });

  it('takes no lines of the floor for upright ones', () => {
    // boards that run away from the camera, under panels that stand
    const boards = (x: number, y: number) => (y < -0.8 ? panels(x / (1 - 0.4 * (y + 0.8))) : Math.abs(x) < 0.8 ? panels(x) : 120);
    const off = (floorFrom: number) => {
      const fact = pitchOf([wall(-8, 0, boards)], 0, 2, floorFrom);
      if (!fact.known) throw new Error(fact.reason);
      return Math.abs(fact.value + 8) / fact.spread!;
    };
    expect(off(0.6)).toBeLessThan(1.5);
    expect(off(1)).toBeGreaterThan(off(0.6));
  });

  it('is unknown before a plain wall, before lines that all lean another way, and without pictures', () => {
    const noisy = noise(3);
    expect(pitchOf([wall(9, 0, () => 120 + noisy())], 0, 2, 1)).toEqual({ known: false, reason: 'ambiguous' });
    expect(pitchOf([wall(9, 0, (_, y) => panels(y))], 0, 2, 1)).toEqual({ known: false, reason: 'ambiguous' });
    expect(pitchOf([], 0, 2, 1)).toEqual({ known: false, reason: 'too-few-frames' });
  });
});

import * as THREE from 'three';
import { describe, expect, it } from 'vitest';
import { pitchOf } from '../../workers/stages/camera-pitch.ts';
import { createRandom, paint } from './scene.ts';

const [widthPx, heightPx] = [270, 480];
/** A phone's main camera: 26 mm equivalent, 36 mm film, along the long side. */
const longFovDeg = 2 * Math.atan(18 / 26) * (180 / Math.PI);
/** Samples along each side of a pixel, averaged as a sensor does. */
const perSide = 3;

type Held = { pitchDeg: number; rollDeg?: number; yawDeg?: number };
type Levels = (x: number, y: number) => number;

/**
 * A wall 4 m away, painted with `levelAt(x, y)` (metres along it and up), and with `floorAt(x, y)` (metres along the wall and away) a floor 1.4 m
 * below the camera, as three.js's perspective camera sees it.
 */
function wall({ pitchDeg, rollDeg = 0, yawDeg = 0 }: Held, levelAt: Levels, timeS = 1, floorAt: Levels | null = null) {
  const camera = new THREE.PerspectiveCamera(longFovDeg, widthPx / heightPx, 0.1, 100);
  camera.rotation.set(...([pitchDeg, yawDeg, rollDeg].map((deg) => (deg * Math.PI) / 180) as [number, number, number]), 'YXZ');
  camera.updateMatrixWorld();
  const corner = (x: number, y: number) => new THREE.Vector3(x, y, -1).unproject(camera);
  const [origin, right, down] = [corner(-1, 1), corner(1, 1), corner(-1, -1)];
  const seen = (x: number, y: number) => {
    const [u, v] = [x / widthPx, y / heightPx];
    const at = (axis: 'x' | 'y' | 'z') => origin[axis] + u * (right[axis] - origin[axis]) + v * (down[axis] - origin[axis]);
    const away = -4 / at('z');
    const up = away * at('y');
    if (floorAt === null || up > -1.4) return levelAt(away * at('x'), up);
    const near = -1.4 / at('y');
    return floorAt(near * at('x'), -near * at('z'));
  };
  return paint(widthPx, heightPx, timeS, (x, y) => {
    let sum = 0;
    for (let i = 0; i < perSide; i++)
      for (let j = 0; j < perSide; j++) sum += seen(x + (i + 0.5) / perSide, y + (j + 0.5) / perSide);
    return sum / perSide ** 2;
  });
}

/** Panels of 0.35 m. */
const panels = (x: number) => (Math.floor(x / 0.35) % 2 === 0 ? 90 : 150);
const noise = (sigma: number) => {
  const random = createRandom(5);
  return () => sigma * (random() + random() + random() - 1.5) * 2;
};

const told = (...asked: Parameters<typeof pitchOf>) => {
  const fact = pitchOf(...asked);
  if (!fact.known) throw new Error(fact.reason);
  return { pitchDeg: fact.value, sdDeg: fact.spread! };
};

describe('pitch from the lines of a room, against three.js', () => {
  it.each([-25, -12, -4, 0, 5, 15])('is found at %d degrees from upright lines', (pitchDeg) => {
    const { pitchDeg: found, sdDeg } = told([wall({ pitchDeg }, panels)], 0, 2, []);
    expect(Math.abs(found - pitchDeg)).toBeLessThan(1);
    expect(sdDeg).toBeLessThan(2);
  });

  it.each([-20, -6, 0, 8])('is found at %d degrees from lines along a wall that is seen askew', (pitchDeg) => {
    const { pitchDeg: found, sdDeg } = told([wall({ pitchDeg, yawDeg: 35 }, (_, y) => panels(y))], 0, 2, []);
    expect(Math.abs(found - pitchDeg)).toBeLessThan(2 * sdDeg + 0.3);
    expect(sdDeg).toBeLessThan(3);
  });

  it.each([-15, -5, 4])('is found at %d degrees from the boards of a floor before a plain wall', (pitchDeg) => {
    const seen = wall({ pitchDeg, yawDeg: 20 }, () => 120, 1, panels);
    const { pitchDeg: found } = told([seen], 0, 2, []);
    expect(Math.abs(found - pitchDeg)).toBeLessThan(1.5);
  });

  it('is found with a camera held askew, noise, and a third of the lines leaning', () => {
    const noisy = noise(3);
    const leaning: Levels = (x, y) => panels(x + (y > 0.9 ? 0.2 * y : 0)) + noisy();
    expect(Math.abs(told([wall({ pitchDeg: 9, rollDeg: 3 }, leaning)], 0, 2, []).pitchDeg - 9)).toBeLessThan(2);
  });

  it('is read from the pictures of the time asked for, else from the nearest', () => {
    const pictures = [wall({ pitchDeg: -20 }, panels, 1), wall({ pitchDeg: 10 }, panels, 6)];
    const at = (fromS: number, toS: number) => Math.round(told(pictures, fromS, toS, []).pitchDeg / 5) * 5;
    expect([at(0, 2), at(5, 9), at(3, 3.4), at(20, 30)]).toEqual([-20, 10, -20, 10]);
  });

  it('is that of the time asked for where the camera has moved since the picture', () => {
    const focalPx = heightPx / 2 / Math.tan((longFovDeg * Math.PI) / 360);
    const dyShare = (Math.tan((4 * Math.PI) / 180) * focalPx) / widthPx; // the background sinks as the camera looks up
    const path = [0, 1, 2, 3].map((timeS) => ({ timeS, dxShare: 0, dyShare: timeS < 1.5 ? 0 : dyShare }));
    const pictures = [wall({ pitchDeg: -8 }, panels, 0.9)];
    expect(told(pictures, 0, 1, path).pitchDeg).toBeCloseTo(told(pictures, 0, 1, []).pitchDeg, 6);
    const moved = told(pictures, 1.9, 3, path);
    expect(Math.abs(moved.pitchDeg + 4)).toBeLessThan(1);
    expect(moved.sdDeg).toBeGreaterThan(1.9); // half of how far it has turned is doubt
  });

  it('is unknown before a plain wall, before a wall seen square with lines along it alone, and without pictures', () => {
    const noisy = noise(3);
    const unknown = { known: false, reason: 'ambiguous' };
    expect(pitchOf([wall({ pitchDeg: 9 }, () => 120 + noisy())], 0, 2, [])).toEqual(unknown);
    expect(pitchOf([wall({ pitchDeg: 9 }, (_, y) => panels(y))], 0, 2, [])).toEqual(unknown);
    expect(pitchOf([], 0, 2, [])).toEqual({ known: false, reason: 'too-few-frames' });
  });
});

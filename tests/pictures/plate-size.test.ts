import { expect, it } from 'vitest';
import { lifterFromTheSide } from '../../src/pictures/figures.ts';

/** Diameter of the largest discs, metres: IWF Technical and Competition Rules and IPF Technical Rules Book, both 450 mm (from memory). */
const discM = 0.45;

it.each([100, 240])('draws the plates of a lifter from the side at %d px a metre in their true size', (pxPerM) => {
  const svg = lifterFromTheSide([300, 400], pxPerM, 'squat', 1);
  const radii = [...svg.matchAll(/<circle[^>]* r="([\d.]+)"/g)].map((match) => Number(match[1]));
  expect(Math.max(...radii)).toBeCloseTo((discM / 2) * pxPerM, 1);
});

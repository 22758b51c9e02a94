import type { HeightClass } from './facts.ts';

/** Upper bounds of the height classes above the floor, metres; see HeightClass. */
export const heightBoundsM: readonly (readonly [HeightClass, number])[] = [
  ['floor', 0.35],
  ['low', 0.7],
  ['waist', 1.35],
  ['head', 2],
  ['above', Number.POSITIVE_INFINITY],
];

/** Height class of a camera this far above the floor, metres. */
export const heightClassOf = (heightM: number): HeightClass => heightBoundsM.find(([, bound]) => heightM < bound)?.[0] ?? 'above';

import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass } from '../../src/facts/facts.ts';
import { cameraHeight } from '../../src/rules/camera-height.ts';
import { distance } from '../../src/rules/distance.ts';
import { lifterSize } from '../../src/rules/lifter-size.ts';
import { exampleFacts } from '../facts-example.ts';
import { testRule } from './rule-tester.ts';

const camera = (change: Partial<Facts['camera']>, lift: 'squat' | 'bench' | 'press' = 'squat') =>
  exampleFacts(lift, { camera: { ...exampleFacts(lift).camera, ...change } });
const height = (value: HeightClass, confidence = 0.95, lift: 'squat' | 'bench' | 'press' = 'squat') =>
  camera({ heightClass: known(value, { confidence }) }, lift);
const angleOnly = (elevationDeg: number, options = {}) => ({
  facts: camera({ heightClass: unknown('ambiguous'), elevationDeg: known(elevationDeg, { spread: 1.645 }) }),
  options,
});

const away = (distanceM: number, share: number, spread = 0.1) =>
  exampleFacts('squat', {
    camera: { ...exampleFacts('squat').camera, distanceM: known(distanceM, { spread }) },
    people: known({ count: 1, lifterHeightShare: share }),
  });

const size = (lifterHeightShare: number, spread = 0, lift: 'squat' | 'bench' = 'squat') =>
  exampleFacts(lift, { people: known({ count: 1, lifterHeightShare }, { spread }) });

testRule(cameraHeight, {
  pass: [
    { name: 'head height', facts: height('head') },
    { name: 'waist height is no fault for a squat', facts: height('waist') },
    { name: 'a press from low, in a tight room', lift: 'press', facts: height('low', 0.95, 'press') },
    { name: 'a bench from above', lift: 'bench', facts: height('above', 0.95, 'bench') },
    { name: 'the floor where the moderator allows it', facts: height('floor'), options: { fix: [], advise: [] } },
  ],
  fail: [
    { name: 'floor', facts: height('floor'), message: 'too-low', numbers: { heightClass: 'floor', minM: 1.5, maxM: 1.8 } },
    {
      name: 'perhaps floor',
      facts: height('floor', 0.5),
      message: 'too-low',
      numbers: { heightClass: 'floor', minM: 1.5, maxM: 1.8 },
      sure: false,
    },
    { name: 'low', facts: height('low'), message: 'too-low', numbers: { heightClass: 'low', minM: 1.5, maxM: 1.8 }, sure: false },
    {
      name: 'above',
      facts: height('above'),
      message: 'too-high',
      numbers: { heightClass: 'above', minM: 1.5, maxM: 1.8 },
      sure: false,
    },
    {
      name: 'a bench from the waist',
      lift: 'bench',
      facts: height('waist', 0.95, 'bench'),
      message: 'too-low',
      numbers: { heightClass: 'waist', minM: 1.5, maxM: 2.1 },
      sure: false,
    },
    {
      name: 'only the angle, from the floor',
      ...angleOnly(-14),
      message: 'too-low',
      numbers: { heightClass: 'floor', minM: 1.5, maxM: 1.8 },
    },
    {
      name: 'surely the floor, whatever the lift is',
      lift: null,
      facts: height('floor'),
      message: 'too-low',
      numbers: { heightClass: 'floor', minM: 1, maxM: 1.8 },
    },
  ],
  cannotTell: [
    { name: 'less likely the floor than not', facts: height('floor', 0.49), reason: 'ambiguous' },
    { name: 'no height, level', ...angleOnly(0), reason: 'ambiguous' },
    {
      name: 'nothing',
      facts: camera({ heightClass: unknown('camera-moves'), elevationDeg: unknown('hidden') }),
      reason: 'camera-moves',
    },
    { name: 'no lift', lift: null, facts: height('head'), reason: 'lift-unknown' },
  ],
  edges: {
    anyLiftConfidence: [
      { name: '0.74', lift: null, facts: height('floor', 0.74) },
      { name: '0.75', lift: null, facts: height('floor', 0.75) },
    ],
    minConfidence: [
      { name: '0.54', facts: height('floor', 0.54) },
      { name: '0.55', facts: height('floor', 0.55) },
    ],
    adviseConfidence: [
      { name: '0.49', facts: height('low', 0.49) },
      { name: '0.5', facts: height('low', 0.5) },
    ],
    // 0.9 of a normal with deviation 1 lies below its mean + 1.28.
    floorBelowDeg: [
      { name: '-9.2', ...angleOnly(-9.2) },
      { name: '-9.4', ...angleOnly(-9.4) },
    ],
  },
});

testRule(distance, {
  pass: [
    { name: 'three metres', facts: away(3, 0.5) },
    { name: 'far with a long lens', facts: away(9, 0.6) },
    {
      name: 'distance unknown, lifter large',
      facts: exampleFacts('squat', { camera: { ...exampleFacts('squat').camera, distanceM: unknown('hidden') } }),
    },
    { name: 'far, but measured so roughly that it may be near', facts: away(6.5, 0.2, 3) },
  ],
  fail: [
    {
      name: 'far',
      facts: away(7, 0.18, 0.6),
      message: 'too-far',
      numbers: { distanceM: 7, heightPercent: 18, minM: 2.5, maxM: 4 },
    },
    {
      name: 'perhaps too far',
      facts: away(6.5, 0.2, 1),
      message: 'too-far',
      numbers: { distanceM: 6.5, heightPercent: 20, minM: 2.5, maxM: 4 },
      sure: false,
    },
    {
      name: 'surely far, whatever the lift is',
      lift: null,
      facts: away(7.6, 0.1, 0.8),
      message: 'too-far',
      numbers: { distanceM: 7.6, heightPercent: 10, minM: 2.5, maxM: 3.5 },
    },
    {
      name: 'under the nose',
      facts: away(0.8, 0.99),
      message: 'too-near',
      numbers: { distanceM: 0.8, minM: 2.5, maxM: 4 },
      sure: false,
    },
  ],
  cannotTell: [
    {
      name: 'distance unknown, lifter small',
      facts: exampleFacts('squat', {
        camera: { ...exampleFacts('squat').camera, distanceM: unknown('hidden') },
        people: known({ count: 1, lifterHeightShare: 0.2 }),
      }),
      reason: 'hidden',
    },
    { name: 'far, size unknown', facts: { ...away(8, 0.2), people: unknown('ambiguous') }, reason: 'ambiguous' },
    { name: 'no lift', lift: null, facts: away(3, 0.4), reason: 'lift-unknown' },
    { name: 'no lift, perhaps too far', lift: null, facts: away(6.5, 0.2, 1), reason: 'lift-unknown' },
  ],
  edges: {
    maxM: [
      { name: '6', facts: away(6, 0.2, 0) },
      { name: '6.01', facts: away(6.01, 0.2, 0) },
    ],
    minM: [
      { name: '1.19', facts: away(1.19, 0.9, 0) },
      { name: '1.21', facts: away(1.21, 0.9, 0) },
    ],
    largeShare: [
      { name: '0.3', facts: away(7, 0.3) },
      { name: '0.299', facts: away(7, 0.299) },
    ],
    // Deviation 1 m: 0.9 lies 1.28 m above, 0.7 lies 0.52 m above.
    fixAt: [
      { name: '7.27', facts: away(7.27, 0.2, 1.645) },
      { name: '7.29', facts: away(7.29, 0.2, 1.645) },
    ],
    adviseAt: [
      { name: '6.51', facts: away(6.51, 0.2, 1.645) },
      { name: '6.54', facts: away(6.54, 0.2, 1.645) },
    ],
  },
});

testRule(lifterSize, {
  pass: [
    { name: 'half the height', facts: size(0.5) },
    { name: 'a bench fills less', lift: 'bench', facts: size(0.15, 0, 'bench') },
  ],
  fail: [
    { name: 'tiny', facts: size(0.15), message: 'too-small', numbers: { heightPercent: 15, minPercent: 28 } },
    { name: 'small', facts: size(0.25), message: 'too-small', numbers: { heightPercent: 25, minPercent: 28 }, sure: false },
    {
      name: 'tiny, roughly measured',
      facts: size(0.21, 0.1),
      message: 'too-small',
      numbers: { heightPercent: 21, minPercent: 28 },
      sure: false,
    },
    {
      name: 'head and feet at the edges',
      facts: size(0.98),
      message: 'too-close',
      numbers: { heightPercent: 98, maxPercent: 95 },
      sure: false,
    },
  ],
  cannotTell: [
    { name: 'nobody measured', facts: exampleFacts('squat', { people: unknown('lifter-unclear') }), reason: 'lifter-unclear' },
    { name: 'no lift', lift: null, facts: size(0.5), reason: 'lift-unknown' },
  ],
  edges: {
    fixBelow: [
      { name: '0.22', facts: size(0.22) },
      { name: '0.219', facts: size(0.219) },
    ],
    adviseBelow: [
      { name: '0.28', facts: size(0.28) },
      { name: '0.279', facts: size(0.279) },
    ],
    adviseAbove: [
      { name: '0.95', facts: size(0.95) },
      { name: '0.951', facts: size(0.951) },
    ],
    // Deviation 0.01: 0.9 lies 0.0128 below 0.22.
    fixAt: [
      { name: '0.208', facts: size(0.208, 0.01645) },
      { name: '0.206', facts: size(0.206, 0.01645) },
    ],
  },
});

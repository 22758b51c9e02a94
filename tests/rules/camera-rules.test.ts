import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, HeightClass } from '../../src/facts/facts.ts';
import { cameraHeight } from '../../src/rules/camera-height.ts';
import { distance } from '../../src/rules/distance.ts';
import { lifterSize } from '../../src/rules/lifter-size.ts';
import { orientation } from '../../src/rules/orientation.ts';
import { pictureShape } from '../../src/rules/picture-shape.ts';
import { steadiness } from '../../src/rules/steadiness.ts';
import { view } from '../../src/rules/view.ts';
import { exampleFacts, viewAt } from '../facts-example.ts';
import { testRule } from './rule-tester.ts';

const seen = (azimuthDeg: number, spread = 16.45, confidence = 1) =>
  exampleFacts('squat', { view: viewAt(azimuthDeg, { spread, confidence }) });

const fromBeside = {
  azimuthDeg: 89,
  seenClass: 'side',
  seenSide: 'left',
  wantedDeg: 135,
  wantedClass: 'rear-quarter',
  wantedSide: 'left',
  moveDeg: 46,
  walk: 'right',
  around: 'counterclockwise',
};

testRule(view, {
  pass: [
    { name: 'rear quarter', facts: seen(135) },
    { name: 'rear quarter on the right', facts: seen(-135) },
    { name: 'likelier outside than in, but not enough', facts: seen(108) },
    {
      name: 'front or rear unsure, but no accepted view either way would differ',
      lift: 'press',
      facts: exampleFacts('press', { view: viewAt(90, { spread: 8, confidence: 0.5 }) }),
    },
    { name: 'front as the coach asked', facts: seen(5), request: 'front' },
    { name: 'straight behind as the coach asked', facts: seen(-178), request: 'rear' },
    {
      name: 'deadlift a little more to the side than the quarter',
      lift: 'deadlift',
      facts: exampleFacts('deadlift', { view: viewAt(74) }),
    },
  ],
  fail: [
    { name: 'squat from beside', facts: seen(89), message: 'outside-accepted', numbers: fromBeside },
    {
      name: 'squat from the right front quarter',
      facts: seen(-43),
      message: 'outside-accepted',
      numbers: {
        azimuthDeg: -43,
        seenClass: 'front-quarter',
        seenSide: 'right',
        wantedDeg: -135,
        wantedClass: 'rear-quarter',
        wantedSide: 'right',
        moveDeg: 92,
        walk: 'left',
        around: 'clockwise',
      },
    },
    {
      name: 'bench from the head end',
      lift: 'bench',
      facts: exampleFacts('bench', { view: viewAt(178) }),
      message: 'outside-accepted',
      numbers: {
        azimuthDeg: 178,
        seenClass: 'rear',
        seenSide: 'middle',
        wantedDeg: 45,
        wantedClass: 'front-quarter',
        wantedSide: 'left',
        moveDeg: 133,
        walk: 'left',
        around: 'clockwise',
      },
    },
    {
      name: 'press from straight in front, a little to the right',
      lift: 'press',
      facts: exampleFacts('press', { view: viewAt(-4) }),
      message: 'outside-accepted',
      numbers: {
        azimuthDeg: -4,
        seenClass: 'front',
        seenSide: 'middle',
        wantedDeg: -45,
        wantedClass: 'front-quarter',
        wantedSide: 'right',
        moveDeg: 41,
        walk: 'left',
        around: 'clockwise',
      },
    },
    {
      name: 'a little likely only: advice',
      facts: seen(103),
      message: 'outside-accepted',
      numbers: { ...fromBeside, azimuthDeg: 103, moveDeg: 32 },
      sure: false,
    },
    {
      name: 'not as the coach asked',
      facts: seen(135),
      request: 'side',
      message: 'not-requested',
      numbers: {
        azimuthDeg: 135,
        seenClass: 'rear-quarter',
        seenSide: 'left',
        wantedDeg: 90,
        wantedClass: 'side',
        wantedSide: 'left',
        moveDeg: 45,
        walk: 'left',
        around: 'clockwise',
        requestedClass: 'side',
      },
    },
  ],
  cannotTell: [
    { name: 'no view', facts: exampleFacts('squat', { view: unknown('hidden') }), reason: 'hidden' },
    { name: 'no lift', lift: null, facts: seen(135), reason: 'lift-unknown' },
    { name: 'a lift that is none of ours', lift: 'other', facts: seen(135), reason: 'lift-unknown' },
    { name: 'front or rear unsure', facts: seen(135, 8, 0.6), reason: 'ambiguous' },
    { name: 'front or rear unsure the other way round', facts: seen(45, 8, 0.6), reason: 'ambiguous' },
  ],
  edges: {
    fixAt: [
      { name: 'P 0.8985', facts: seen(99.8) },
      { name: 'P 0.9015', facts: seen(99.6) },
    ],
    adviseAt: [
      { name: 'P 0.698', facts: seen(107.3) },
      { name: 'P 0.702', facts: seen(107.2) },
    ],
    minConfidence: [
      { name: '0.74', facts: seen(135, 4, 0.74) },
      { name: '0.76', facts: seen(135, 4, 0.76) },
    ],
    maxSpreadDeg: [
      { name: '60', facts: seen(135, 60) },
      { name: '60.1', facts: seen(135, 60.1) },
    ],
    assumedSpreadDeg: [
      { name: '16', facts: exampleFacts('squat', { view: viewAt(99.6, {}) }), options: { assumedSpreadDeg: 16 } },
      { name: '17', facts: exampleFacts('squat', { view: viewAt(99.6, {}) }), options: { assumedSpreadDeg: 17 } },
    ],
  },
});

const camera = (change: Partial<Facts['camera']>, lift: 'squat' | 'bench' | 'press' = 'squat') =>
  exampleFacts(lift, { camera: { ...exampleFacts(lift).camera, ...change } });
const height = (value: HeightClass, confidence = 0.95, lift: 'squat' | 'bench' | 'press' = 'squat') =>
  camera({ heightClass: known(value, { confidence }) }, lift);
const angleOnly = (elevationDeg: number, options = {}) => ({
  facts: camera({ heightClass: unknown('ambiguous'), elevationDeg: known(elevationDeg, { spread: 1.645 }) }),
  options,
});

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
  ],
  cannotTell: [
    { name: 'no height, level', ...angleOnly(0), reason: 'ambiguous' },
    {
      name: 'nothing',
      facts: camera({ heightClass: unknown('camera-moves'), elevationDeg: unknown('hidden') }),
      reason: 'camera-moves',
    },
    { name: 'no lift', lift: null, facts: height('head'), reason: 'lift-unknown' },
  ],
  edges: {
    minConfidence: [
      { name: '0.54', facts: height('floor', 0.54) },
      { name: '0.55', facts: height('floor', 0.55) },
    ],
    // 0.9 of a normal with deviation 1 lies below its mean + 1.28.
    floorBelowDeg: [
      { name: '-9.2', ...angleOnly(-9.2) },
      { name: '-9.4', ...angleOnly(-9.4) },
    ],
  },
});

const away = (distanceM: number, share: number, spread = 0.1) =>
  exampleFacts('squat', {
    camera: { ...exampleFacts('squat').camera, distanceM: known(distanceM, { spread }) },
    people: known({ count: 1, lifterHeightShare: share }),
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

const size = (lifterHeightShare: number, spread = 0, lift: 'squat' | 'bench' = 'squat') =>
  exampleFacts(lift, { people: known({ count: 1, lifterHeightShare }, { spread }) });

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

const stands = (value: 'upright' | 'sideways-left' | 'sideways-right' | 'upside-down', confidence = 0.95) =>
  exampleFacts('squat', { orientation: known(value, { confidence }) });

testRule(orientation, {
  pass: [
    { name: 'upright', facts: stands('upright') },
    { name: 'perhaps upright', facts: stands('upright', 0.5) },
  ],
  fail: [
    { name: 'head to the left', facts: stands('sideways-left'), message: 'sideways', numbers: { head: 'left', turnDeg: 90 } },
    { name: 'head to the right', facts: stands('sideways-right'), message: 'sideways', numbers: { head: 'right', turnDeg: 270 } },
    { name: 'on its head', facts: stands('upside-down'), message: 'upside-down', numbers: { turnDeg: 180 } },
    {
      name: 'perhaps on its head',
      facts: stands('upside-down', 0.7),
      message: 'upside-down',
      numbers: { turnDeg: 180 },
      sure: false,
    },
  ],
  cannotTell: [{ name: 'unknown', facts: exampleFacts('squat', { orientation: unknown('no-lifter') }), reason: 'no-lifter' }],
  edges: {
    minConfidence: [
      { name: '0.89', facts: stands('sideways-left', 0.89) },
      { name: '0.9', facts: stands('sideways-left', 0.9) },
    ],
  },
});

const shape = (widthPx: number, heightPx: number, share: number) => {
  const facts = exampleFacts('squat', { people: known({ count: 1, lifterHeightShare: share }) });
  return facts.clip.known ? { ...facts, clip: known({ ...facts.clip.value, widthPx, heightPx }) } : facts;
};

testRule(pictureShape, {
  pass: [
    { name: 'portrait', facts: shape(1080, 1920, 0.3) },
    { name: 'square', facts: shape(1080, 1080, 0.3) },
    { name: 'landscape with a lifter who fills it', facts: shape(1920, 1080, 0.8) },
    { name: 'a deadlift may be either', lift: 'deadlift', facts: shape(1920, 1080, 0.31) },
  ],
  fail: [
    {
      name: 'landscape',
      facts: shape(1920, 1080, 0.35),
      message: 'portrait-better',
      numbers: { widthPx: 1920, heightPx: 1080, heightPercent: 35 },
    },
    {
      name: 'portrait where landscape is wished',
      facts: shape(1080, 1920, 0.35),
      options: { shape: 'landscape' },
      message: 'landscape-better',
      numbers: { widthPx: 1080, heightPx: 1920, heightPercent: 35 },
    },
  ],
  cannotTell: [
    { name: 'container silent', facts: exampleFacts('squat', { clip: unknown('container-silent') }), reason: 'container-silent' },
    { name: 'landscape, size unknown', facts: { ...shape(1920, 1080, 0.3), people: unknown('hidden') }, reason: 'hidden' },
    { name: 'no lift', lift: null, facts: shape(1080, 1920, 0.3), reason: 'lift-unknown' },
  ],
  edges: {
    largeShare: [
      { name: '0.5', facts: shape(1920, 1080, 0.5) },
      { name: '0.49', facts: shape(1920, 1080, 0.49) },
    ],
  },
});

const shakes = (value: 'tripod' | 'propped-or-held' | 'moving', rmsPerS: number, confidence = 0.95) =>
  exampleFacts('squat', { steadiness: known({ class: value, rmsPerS }, { confidence }) });

testRule(steadiness, {
  pass: [
    { name: 'tripod', facts: shakes('tripod', 0.001) },
    { name: 'leaned, where that is fine', facts: shakes('propped-or-held', 0.006), options: { adviseTripod: false } },
    { name: 'held for a close-up', facts: shakes('propped-or-held', 0.006), request: 'bar-close-up' },
  ],
  fail: [
    { name: 'moving', facts: shakes('moving', 0.0512), message: 'moving', numbers: { percentPerS: 5.1 } },
    { name: 'perhaps moving', facts: shakes('moving', 0.05, 0.6), message: 'moving', numbers: { percentPerS: 5 }, sure: false },
    {
      name: 'moving in a close-up',
      facts: shakes('moving', 0.05),
      request: 'bar-close-up',
      message: 'moving',
      numbers: { percentPerS: 5 },
      sure: false,
    },
    {
      name: 'leaned',
      facts: shakes('propped-or-held', 0.005),
      message: 'propped-or-held',
      numbers: { percentPerS: 0.5 },
      sure: false,
    },
  ],
  cannotTell: [
    { name: 'too dark to tell', facts: exampleFacts('squat', { steadiness: unknown('too-dark') }), reason: 'too-dark' },
  ],
  edges: {
    fixAboveShare: [
      { name: '0.03', facts: shakes('moving', 0.03), options: { fixAboveShare: 0.03 } },
      { name: '0.029', facts: shakes('moving', 0.029), options: { fixAboveShare: 0.03 } },
    ],
    minConfidence: [
      { name: '0.79', facts: shakes('moving', 0.05, 0.79) },
      { name: '0.8', facts: shakes('moving', 0.05, 0.8) },
    ],
  },
});

import { unknown } from '../../src/facts/fact.ts';
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

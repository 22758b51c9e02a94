import { known, unknown } from '../../src/facts/fact.ts';
import { orientation } from '../../src/rules/orientation.ts';
import { pictureShape } from '../../src/rules/picture-shape.ts';
import { steadiness } from '../../src/rules/steadiness.ts';
import { exampleFacts } from '../facts-example.ts';
import { testRule } from './rule-tester.ts';

const _size = (lifterHeightShare: number, spread = 0, lift: 'squat' | 'bench' = 'squat') =>
  exampleFacts(lift, { people: known({ count: 1, lifterHeightShare }, { spread }) });

const stands = (value: 'upright' | 'sideways-left' | 'sideways-right' | 'upside-down', confidence = 0.95) =>
  exampleFacts('squat', { orientation: known(value, { confidence }) });

const shape = (widthPx: number, heightPx: number, share: number) => {
  const facts = exampleFacts('squat', { people: known({ count: 1, lifterHeightShare: share }) });
  return facts.clip.known ? { ...facts, clip: known({ ...facts.clip.value, widthPx, heightPx }) } : facts;
};

const shakes = (value: 'tripod' | 'propped-or-held' | 'moving', rmsPerS: number, confidence = 0.95) =>
  exampleFacts('squat', { steadiness: known({ class: value, rmsPerS }, { confidence }) });

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

testRule(steadiness, {
  pass: [
    { name: 'tripod', facts: shakes('tripod', 0.001) },
    { name: 'leaned, where that is fine', facts: shakes('propped-or-held', 0.006), options: { adviseTripod: false } },
    { name: 'held for a close-up', facts: shakes('propped-or-held', 0.006), request: 'bar-close-up' },
  ],
  fail: [
    { name: 'moving', facts: shakes('moving', 0.0512), message: 'moving', numbers: { percentPerS: 5.1 } },
    { name: 'moving a lot', facts: shakes('moving', 0.3031), message: 'moving', numbers: { percentPerS: 30 } },
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

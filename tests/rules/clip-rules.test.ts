import { known, unknown } from '../../src/facts/fact.ts';
import type { ClipFacts, Facts } from '../../src/facts/facts.ts';
import { clipLength } from '../../src/rules/clip-length.ts';
import { cuts } from '../../src/rules/cuts.ts';
import { deadTime } from '../../src/rules/dead-time.ts';
import { frameRate } from '../../src/rules/frame-rate.ts';
import { light } from '../../src/rules/light.ts';
import { oneSet } from '../../src/rules/one-set.ts';
import { playbackSpeed } from '../../src/rules/playback-speed.ts';
import { resolution } from '../../src/rules/resolution.ts';
import { sharpness } from '../../src/rules/sharpness.ts';
import { exampleFacts } from '../facts-example.ts';
import { testRule } from './rule-tester.ts';

// The example's lift window is 1 s to 6.5 s.
const cutAt = (times: number[], confidence = 0.95, change: Partial<Facts> = {}) =>
  exampleFacts('squat', { cuts: known(times, { confidence }), ...change });

testRule(cuts, {
  pass: [{ name: 'in one piece', facts: cutAt([]) }],
  fail: [
    { name: 'during the lift', facts: cutAt([0.5, 3.04, 4]), message: 'cut-inside', numbers: { count: 2, atS: 3 } },
    {
      name: 'perhaps during the lift',
      facts: cutAt([3], 0.6),
      message: 'cut-inside',
      numbers: { count: 1, atS: 3 },
      sure: false,
    },
    { name: 'before it', facts: cutAt([0.5]), message: 'cut-outside', numbers: { count: 1, atS: 0.5 }, sure: false },
    {
      name: 'somewhere, lift not found',
      facts: cutAt([3], 0.95, { liftWindow: unknown('no-lift') }),
      message: 'cut-inside',
      numbers: { count: 1, atS: 3 },
    },
  ],
  cannotTell: [{ name: 'not measured', facts: exampleFacts('squat', { cuts: unknown('not-measured') }), reason: 'not-measured' }],
  edges: {
    minConfidence: [
      { name: '0.9', facts: cutAt([3], 0.9) },
      { name: '0.89', facts: cutAt([3], 0.89) },
    ],
  },
});

const waits = (leadInS: number, tailS: number, longestRestS = 0.5, spread = 0) =>
  exampleFacts('squat', { deadTime: known({ leadInS, tailS, longestRestS }, { spread }) });

testRule(deadTime, {
  pass: [
    { name: 'trimmed', facts: waits(1, 1) },
    { name: 'walk-out and racking', facts: waits(7, 5) },
  ],
  fail: [
    { name: 'long walk-out', facts: waits(12.34, 2), message: 'lead-in', numbers: { leadInS: 12.3, maxS: 8 } },
    { name: 'long talk after', facts: waits(2, 12), message: 'tail', numbers: { tailS: 12, maxS: 6 } },
    { name: 'both', facts: waits(20, 30), message: 'both-ends', numbers: { leadInS: 20, tailS: 30, maxS: 8 } },
    {
      name: 'lead-in that may be shorter',
      facts: waits(8.3, 2, 0.5, 1),
      message: 'lead-in',
      numbers: { leadInS: 8.3, maxS: 8 },
      sure: false,
    },
    { name: 'a long rest', facts: waits(1, 1, 25), message: 'rest-between', numbers: { restS: 25, maxS: 20 }, sure: false },
  ],
  cannotTell: [{ name: 'no lift found', facts: exampleFacts('squat', { deadTime: unknown('no-lift') }), reason: 'no-lift' }],
  edges: {
    maxLeadInS: [
      { name: '8', facts: waits(8, 1) },
      { name: '8.01', facts: waits(8.01, 1) },
    ],
    maxTailS: [
      { name: '6', facts: waits(1, 6) },
      { name: '6.01', facts: waits(1, 6.01) },
    ],
    maxRestS: [
      { name: '20', facts: waits(1, 1, 20) },
      { name: '20.01', facts: waits(1, 1, 20.01) },
    ],
  },
  readByJudge: ['marginS'],
});

testRule(oneSet, {
  pass: [{ name: 'a set', facts: waits(1, 1, 10) }],
  fail: [{ name: 'two sets', facts: waits(1, 1, 95), message: 'several-sets', numbers: { restS: 95 } }],
  cannotTell: [{ name: 'no lift found', facts: exampleFacts('squat', { deadTime: unknown('no-lift') }), reason: 'no-lift' }],
  edges: {
    maxRestS: [
      { name: '60', facts: waits(1, 1, 60) },
      { name: '60.01', facts: waits(1, 1, 60.01) },
    ],
  },
});

const clip = (change: Partial<ClipFacts>, more: Partial<Facts> = {}) => {
  const facts = exampleFacts('squat', more);
  return facts.clip.known ? { ...facts, clip: known({ ...facts.clip.value, ...change }) } : facts;
};
const silent = exampleFacts('squat', { clip: unknown('container-silent') });
const repOf = (lengthS: number) => known([{ startS: 1, turnS: 1 + lengthS / 2, endS: 1 + lengthS }]);

testRule(playbackSpeed, {
  pass: [
    { name: 'normal', facts: exampleFacts('squat') },
    { name: 'no rep', facts: clip({}, { reps: known([]) }) },
  ],
  fail: [
    { name: 'slow motion', facts: clip({ slowMotion: true, fps: 239.8 }), message: 'slow-motion', numbers: { fps: 240 } },
    { name: 'sped up', facts: clip({}, { reps: repOf(0.5) }), message: 'sped-up', numbers: { repS: 0.5, minRepS: 0.7 } },
  ],
  cannotTell: [
    { name: 'container silent', facts: silent, reason: 'container-silent' },
    { name: 'reps unknown', facts: clip({}, { reps: unknown('hidden') }), reason: 'hidden' },
  ],
  edges: {
    minRepS: [
      { name: '0.71', facts: clip({}, { reps: repOf(0.71) }) },
      { name: '0.69', facts: clip({}, { reps: repOf(0.69) }) },
    ],
  },
});

const lasts = (windowS: number, leadInS = 1, tailS = 1) =>
  exampleFacts('squat', {
    liftWindow: known({ startS: leadInS, endS: leadInS + windowS }),
    deadTime: known({ leadInS, tailS, longestRestS: 1 }),
  });

testRule(clipLength, {
  pass: [
    { name: 'two reps in 6 s', facts: lasts(6) },
    { name: 'no rep', facts: { ...lasts(6), reps: known([]) } },
  ],
  fail: [
    { name: 'two reps in a minute', facts: lasts(60), message: 'long-for-reps', numbers: { durationS: 60, reps: 2, maxS: 39 } },
    { name: 'starts in the first rep', facts: lasts(6, 0, 1), message: 'starts-mid-rep', numbers: {} },
    { name: 'ends in the last rep', facts: lasts(6, 1, 0), message: 'ends-mid-rep', numbers: {} },
  ],
  cannotTell: [
    { name: 'reps unknown', facts: { ...lasts(6), reps: unknown('hidden') }, reason: 'hidden' },
    { name: 'window unknown', facts: { ...lasts(6), liftWindow: unknown('no-lift') }, reason: 'no-lift' },
    { name: 'dead time unknown', facts: { ...lasts(6), deadTime: unknown('no-lift') }, reason: 'no-lift' },
  ],
  edges: {
    baseS: [
      { name: '39', facts: lasts(39) },
      { name: '39.01', facts: lasts(39.01) },
    ],
    perRepS: [
      { name: '25 for two', facts: lasts(25), options: { perRepS: 5 } },
      { name: '25.01 for two', facts: lasts(25.01), options: { perRepS: 5 } },
    ],
    edgeS: [
      { name: '0.1', facts: lasts(6, 0.1) },
      { name: '0.09', facts: lasts(6, 0.09) },
    ],
  },
});

const sharp = (value: number, spread = 0) => exampleFacts('squat', { sharpness: known(value, { spread }) });

testRule(sharpness, {
  pass: [
    { name: 'crisp', facts: sharp(0.6) },
    { name: 'perhaps blurred', facts: sharp(0.13, 0.05) },
  ],
  fail: [{ name: 'blurred', facts: sharp(0.05), message: 'blurred', numbers: { sharpPercent: 5, minPercent: 15 } }],
  cannotTell: [
    { name: 'not measured', facts: exampleFacts('squat', { sharpness: unknown('too-few-frames') }), reason: 'too-few-frames' },
  ],
  edges: {
    min: [
      { name: '0.15', facts: sharp(0.15) },
      { name: '0.149', facts: sharp(0.149) },
    ],
  },
});

testRule(resolution, {
  pass: [
    { name: '1080p', facts: clip({}) },
    { name: 'small but enough', facts: clip({ widthPx: 640, heightPx: 360 }) },
  ],
  fail: [
    {
      name: 'a stamp',
      facts: clip({ widthPx: 176, heightPx: 144 }),
      message: 'low-resolution',
      numbers: { widthPx: 176, heightPx: 144, minPx: 360 },
    },
  ],
  cannotTell: [{ name: 'container silent', facts: silent, reason: 'container-silent' }],
  edges: {
    minShortSidePx: [
      { name: '360', facts: clip({ widthPx: 360, heightPx: 640 }) },
      { name: '359', facts: clip({ widthPx: 359, heightPx: 640 }) },
    ],
  },
});

testRule(frameRate, {
  pass: [
    { name: '30', facts: clip({ fps: 29.97 }) },
    { name: 'a rounded 15', facts: clip({ fps: 14.99 }) },
  ],
  fail: [{ name: 'stutter', facts: clip({ fps: 8.04 }), message: 'low-frame-rate', numbers: { fps: 8, minFps: 15 } }],
  cannotTell: [{ name: 'container silent', facts: silent, reason: 'container-silent' }],
  edges: {
    minFps: [
      { name: '14.95', facts: clip({ fps: 14.95 }) },
      { name: '14.85', facts: clip({ fps: 14.85 }) },
    ],
  },
});

const lit = (mean: number, dark: boolean, backlit: boolean, confidence = 0.95) =>
  exampleFacts('squat', { light: known({ mean, dark, backlit }, { confidence }) });

testRule(light, {
  pass: [{ name: 'bright', facts: lit(0.5, false, false) }],
  fail: [
    { name: 'dark', facts: lit(0.06, true, false), message: 'dark', numbers: { meanPercent: 6 } },
    { name: 'dark and backlit', facts: lit(0.1, true, true), message: 'dark', numbers: { meanPercent: 10 } },
    { name: 'perhaps dark', facts: lit(0.1, true, false, 0.6), message: 'dark', numbers: { meanPercent: 10 }, sure: false },
    { name: 'backlit', facts: lit(0.6, false, true), message: 'backlit', numbers: { meanPercent: 60 }, sure: false },
  ],
  cannotTell: [
    { name: 'not measured', facts: exampleFacts('squat', { light: unknown('not-measured') }), reason: 'not-measured' },
  ],
  edges: {
    minConfidence: [
      { name: '0.8', facts: lit(0.1, true, false, 0.8) },
      { name: '0.79', facts: lit(0.1, true, false, 0.79) },
    ],
    maxMean: [
      { name: '0.35', facts: lit(0.35, true, false) },
      { name: '0.36', facts: lit(0.36, true, false) },
    ],
  },
});

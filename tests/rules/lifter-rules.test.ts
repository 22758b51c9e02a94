import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts, LiftId, Part, PartFacts } from '../../src/facts/facts.ts';
import { asCaptioned } from '../../src/rules/as-captioned.ts';
import { liftInClip } from '../../src/rules/lift-in-clip.ts';
import { liftKnown } from '../../src/rules/lift-known.ts';
import { lifterPresent } from '../../src/rules/lifter-present.ts';
import { obstruction } from '../../src/rules/obstruction.ts';
import { oneLifter } from '../../src/rules/one-lifter.ts';
import { partsInFrame } from '../../src/rules/parts-in-frame.ts';
import { exampleFacts } from '../facts-example.ts';
import { testRule } from './rule-tester.ts';

const people = (count: number, confidence = 0.95) =>
  exampleFacts('squat', { people: known({ count, lifterHeightShare: count === 0 ? 0 : 0.6 }, { confidence }) });

testRule(lifterPresent, {
  pass: [
    { name: 'one', facts: people(1) },
    { name: 'some', facts: people(4) },
  ],
  fail: [
    { name: 'empty gym', facts: people(0), message: 'no-lifter', numbers: {} },
    {
      name: 'empty gym, told by the reason',
      facts: exampleFacts('squat', { people: unknown('no-lifter') }),
      message: 'no-lifter',
      numbers: {},
    },
  ],
  cannotTell: [
    { name: 'perhaps nobody', facts: people(0, 0.6), reason: 'lifter-unclear' },
    { name: 'too dark', facts: exampleFacts('squat', { people: unknown('too-dark') }), reason: 'too-dark' },
  ],
  edges: {
    minConfidence: [
      { name: '0.89', facts: people(0, 0.89) },
      { name: '0.9', facts: people(0, 0.9) },
    ],
  },
});

const reps = (count: number, confidence = 0.95) =>
  known(
    Array.from({ length: count }, (_, i) => ({ startS: 1 + i * 3, turnS: 2 + i * 3, endS: 3 + i * 3 })),
    { confidence },
  );

const uncounted = (confidence: number) =>
  exampleFacts('squat', { reps: unknown('no-lift'), lift: known('other', { confidence }) });

testRule(liftInClip, {
  pass: [
    { name: 'one rep', facts: exampleFacts('squat', { reps: reps(1) }) },
    { name: 'reps of another lift, which are not counted', facts: uncounted(0.9) },
  ],
  fail: [{ name: 'none', facts: exampleFacts('squat', { reps: reps(0) }), message: 'no-rep', numbers: {} }],
  cannotTell: [
    { name: 'perhaps none', facts: exampleFacts('squat', { reps: reps(0, 0.5) }), reason: 'no-lift' },
    {
      name: 'no lift found is not the same as none there',
      facts: exampleFacts('squat', { reps: unknown('no-lift') }),
      reason: 'no-lift',
    },
    { name: 'perhaps another lift', facts: uncounted(0.55), reason: 'no-lift' },
  ],
  edges: {
    minConfidence: [
      { name: '0.89', facts: exampleFacts('squat', { reps: reps(0, 0.89) }) },
      { name: '0.9', facts: exampleFacts('squat', { reps: reps(0, 0.9) }) },
    ],
  },
});

const measured = (lift: LiftId, confidence: number) => exampleFacts('squat', { lift: known(lift, { confidence }) });

const captioned = (lift: LiftId | null, repsSaid: number | null, change: Partial<Facts> = {}) =>
  exampleFacts('squat', {
    caption: known({ lift, loadKg: null, loadUnit: null, reps: repsSaid, sets: null, rpe: null, question: null }),
    ...change,
  });

testRule(liftKnown, {
  pass: [{ name: 'a squat', facts: exampleFacts('squat') }],
  fail: [
    {
      name: 'unknown',
      lift: null,
      facts: exampleFacts('squat', { lift: unknown('ambiguous') }),
      message: 'lift-unknown',
      numbers: {},
    },
    { name: 'another lift', lift: 'other', facts: measured('other', 0.9), message: 'other-lift', numbers: {}, sure: false },
    {
      name: 'the caption names another lift',
      lift: 'other',
      facts: captioned('other', 2, { lift: unknown('no-lift') }),
      message: 'other-lift',
      numbers: {},
      sure: false,
    },
    { name: 'perhaps another lift', lift: null, facts: measured('other', 0.6), message: 'lift-unknown', numbers: {} },
  ],
  cannotTell: [],
  edges: {
    sureConfidence: [
      { name: '0.8', lift: null, facts: measured('other', 0.8) },
      { name: '0.79', lift: null, facts: measured('other', 0.79) },
    ],
  },
  readByJudge: ['overruleConfidence'],
});

testRule(asCaptioned, {
  pass: [
    { name: 'no caption', facts: exampleFacts('squat') },
    { name: 'as said', facts: captioned('squat', 2) },
    { name: 'one rep more than counted', facts: captioned('squat', 3) },
    { name: 'perhaps another lift', facts: captioned('bench', null, { lift: known('squat', { confidence: 0.85 }) }) },
    { name: 'reps said, none counted', facts: captioned('squat', 5, { reps: reps(0) }) },
    { name: 'only a question', facts: captioned(null, null) },
  ],
  fail: [
    {
      name: 'another lift',
      facts: captioned('bench', null),
      message: 'other-than-captioned',
      numbers: { captioned: 'bench', measured: 'squat' },
    },
    { name: 'three reps fewer', facts: captioned('squat', 5), message: 'reps-differ', numbers: { captioned: 5, measured: 2 } },
  ],
  cannotTell: [
    { name: 'lift not measured', facts: captioned('squat', null, { lift: unknown('too-few-frames') }), reason: 'too-few-frames' },
    { name: 'reps not measured', facts: captioned(null, 5, { reps: unknown('camera-moves') }), reason: 'camera-moves' },
  ],
  edges: {
    minConfidence: [
      { name: '0.89', facts: captioned('bench', null, { lift: known('squat', { confidence: 0.89 }) }) },
      { name: '0.9', facts: captioned('bench', null, { lift: known('squat', { confidence: 0.9 }) }) },
    ],
    minRepDifference: [
      { name: 'one', facts: captioned(null, 3) },
      { name: 'two', facts: captioned(null, 4) },
    ],
  },
});

const withParts = (
  lift: 'squat' | 'press' | 'bench',
  change: Partial<Record<Part, Partial<PartFacts> | 'unknown'>>,
  confidence = 0.9,
) => {
  const facts = exampleFacts(lift);
  for (const [part, value] of Object.entries(change)) {
    facts.inFrame[part as Part] =
      value === 'unknown' ? unknown('hidden') : known({ share: 0.98, outsideShare: 0, lostAt: [], ...value }, { confidence });
  }
  return facts;
};

testRule(partsInFrame, {
  pass: [
    { name: 'all seen', facts: exampleFacts('squat') },
    {
      name: 'a squat does not need the hands',
      facts: withParts('squat', { hands: { share: 0, outsideShare: 1, lostAt: ['start', 'turn', 'lockout'] } }),
    },
    { name: 'the bar could not be followed', facts: withParts('squat', { bar: 'unknown' }) },
    { name: 'hips shortly outside', facts: withParts('squat', { hips: { outsideShare: 0.1 } }) },
    {
      name: 'lost at a moment that does not count',
      facts: withParts('squat', { feet: { lostAt: ['start'], outsideShare: 0.05 } }),
      options: { parts: [{ part: 'feet', at: ['turn'], ifUnknown: 'unsure' }] },
    },
  ],
  fail: [
    {
      name: 'feet cut',
      facts: withParts('squat', { feet: { share: 0, outsideShare: 1, lostAt: ['start', 'turn', 'lockout'] } }),
      message: 'part-lost',
      numbers: { part: 'feet', moment: 'start', outsidePercent: 100 },
    },
    {
      name: 'hands leave at the lockout of a press',
      lift: 'press',
      facts: withParts('press', { hands: { share: 0.6, outsideShare: 0.41, lostAt: ['turn', 'lockout'] } }),
      message: 'part-lost',
      numbers: { part: 'hands', moment: 'turn', outsidePercent: 41 },
    },
    {
      name: 'hands and head leave',
      lift: 'press',
      facts: withParts('press', { hands: { outsideShare: 0.4, lostAt: ['lockout'] }, head: { outsideShare: 0.2 } }),
      message: 'parts-lost',
      numbers: { parts: 'hands,head', moment: 'lockout', outsidePercent: 40 },
    },
    {
      name: 'knees outside now and then',
      facts: withParts('squat', { knees: { outsideShare: 0.3 } }),
      message: 'part-outside',
      numbers: { part: 'knees', outsidePercent: 30 },
    },
    {
      name: 'feet perhaps cut',
      facts: withParts('squat', { feet: { outsideShare: 1, lostAt: ['turn'] } }, 0.5),
      message: 'part-lost',
      numbers: { part: 'feet', moment: 'turn', outsidePercent: 100 },
      sure: false,
    },
    {
      name: 'feet cut and hips unknown',
      facts: withParts('squat', { feet: { outsideShare: 1, lostAt: ['turn'] }, hips: 'unknown' }),
      message: 'part-lost',
      numbers: { part: 'feet', moment: 'turn', outsidePercent: 100 },
    },
    {
      name: 'elbows behind the plates',
      lift: 'bench',
      facts: withParts('bench', { elbows: { share: 0.1 } }),
      message: 'part-hidden',
      numbers: { part: 'elbows', hiddenPercent: 90 },
      sure: false,
    },
  ],
  cannotTell: [
    { name: 'hips could not be followed', facts: withParts('squat', { hips: 'unknown' }), reason: 'hidden' },
    {
      name: 'feet perhaps cut and hips unknown',
      facts: withParts('squat', { feet: { outsideShare: 1, lostAt: ['turn'] }, hips: 'unknown' }, 0.5),
      reason: 'hidden',
    },
    { name: 'no lift', lift: null, facts: exampleFacts('squat'), reason: 'lift-unknown' },
  ],
  edges: {
    maxOutsideShare: [
      { name: '0.15', facts: withParts('squat', { hips: { outsideShare: 0.15 } }) },
      { name: '0.151', facts: withParts('squat', { hips: { outsideShare: 0.151 } }) },
    ],
    minSeenShare: [
      { name: '0.25', facts: withParts('squat', { hips: { share: 0.25 } }) },
      { name: '0.249', facts: withParts('squat', { hips: { share: 0.249 } }) },
    ],
    minConfidence: [
      { name: '0.8', facts: withParts('squat', { hips: { outsideShare: 0.5 } }, 0.8) },
      { name: '0.79', facts: withParts('squat', { hips: { outsideShare: 0.5 } }, 0.79) },
    ],
  },
});

const before = (kind: 'none' | 'bottom' | 'over-lifter', share: number, confidence = 0.95) =>
  exampleFacts('squat', { obstruction: known({ kind, share }, { confidence }) });

testRule(obstruction, {
  pass: [
    { name: 'none', facts: before('none', 0) },
    { name: 'a corner of a bench', facts: before('bottom', 0.03) },
  ],
  fail: [
    { name: 'a bench across the bottom', facts: before('bottom', 0.25), message: 'across-bottom', numbers: { percent: 25 } },
    { name: 'a stand before the lifter', facts: before('over-lifter', 0.3), message: 'over-lifter', numbers: { percent: 30 } },
    { name: 'a little', facts: before('bottom', 0.08), message: 'across-bottom', numbers: { percent: 8 }, sure: false },
    { name: 'perhaps', facts: before('over-lifter', 0.3, 0.5), message: 'over-lifter', numbers: { percent: 30 }, sure: false },
  ],
  cannotTell: [
    { name: 'not measured', facts: exampleFacts('squat', { obstruction: unknown('not-measured') }), reason: 'not-measured' },
  ],
  edges: {
    fixAtShare: [
      { name: '0.12', facts: before('bottom', 0.12) },
      { name: '0.119', facts: before('bottom', 0.119) },
    ],
    adviseAtShare: [
      { name: '0.06', facts: before('bottom', 0.06) },
      { name: '0.059', facts: before('bottom', 0.059) },
    ],
    minConfidence: [
      { name: '0.8', facts: before('bottom', 0.2, 0.8) },
      { name: '0.79', facts: before('bottom', 0.2, 0.79) },
    ],
  },
});

testRule(oneLifter, {
  pass: [
    { name: 'alone', facts: people(1) },
    { name: 'with three spotters', facts: people(4) },
    { name: 'unclear, but alone', facts: { ...people(1), view: unknown('lifter-unclear') } },
  ],
  fail: [
    { name: 'a crowd', facts: people(7), message: 'several-people', numbers: { count: 7 } },
    {
      name: 'two, and not plain which',
      facts: { ...people(2), reps: unknown('lifter-unclear') },
      message: 'several-people',
      numbers: { count: 2 },
    },
  ],
  cannotTell: [{ name: 'not counted', facts: exampleFacts('squat', { people: unknown('too-dark') }), reason: 'too-dark' }],
  edges: {
    maxOthers: [
      { name: 'four', facts: people(4) },
      { name: 'five', facts: people(5) },
    ],
  },
});

import { describe, expect, it } from 'vitest';
import { judge } from '../../src/judge/judge.ts';
import { truthOf } from '../../src/moderation/judged-clip.ts';
import { rejudge, sharesOf } from '../../src/moderation/rejudge.ts';
import { parseRules } from '../../src/settings/load.ts';
import { viewAt } from '../facts-example.ts';
import { randomFrom } from '../judge/random-facts.ts';
import { clip, word } from './clips.ts';

const usual = parseRules('', 'rules');
const rear = parseRules(
  'view: { lifts: { squat: { options: { zones: [{ fromDeg: 112.5, toDeg: 180, aimDeg: 135 }] } } } }',
  'rules',
);

describe('judging again', () => {
  it('counts which way verdicts flip, and names the clips', () => {
    const [good, behind, front] = [clip(), clip({ deg: 180 }), clip({ deg: 0 })];
    expect(rejudge([good, behind, front], usual, rear)).toMatchObject({
      clips: 3,
      flips: [{ from: 'fix', to: 'clean', ids: [behind.id] }],
    });
    expect(rejudge([good, behind, front], rear, usual).flips).toEqual([{ from: 'clean', to: 'fix', ids: [behind.id] }]);
  });

  it('says where only the words change', () => {
    const front = clip({ deg: 0 });
    const off = parseRules('view: { severity: advise }\nsteadiness: { severity: off }', 'rules');
    const other = parseRules('view: { options: { fixAt: 0.5 } }', 'rules');
    expect(rejudge([front], usual, other)).toMatchObject({ flips: [], otherWords: [] });
    expect(rejudge([clip({ heightShare: 0.26 })], usual, parseRules('lifter-size: { severity: off }', 'rules'))).toMatchObject({
      flips: [],
      otherWords: [expect.any(String)],
    });
    expect(rejudge([front], usual, off).flips).toMatchObject([{ from: 'fix', to: 'clean' }]);
  });

  it('holds both rules against what people said', () => {
    const said = [
      clip({ deg: 180 }, { words: [word('appeal', 'view')] }),
      clip({ deg: 180 }, { words: [word('appeal'), word('accepted')] }),
      clip({ deg: 180 }, { words: [word('appeal'), word('unusable')] }),
      clip({}, { desk: 'done' }),
      clip({ deg: 180 }),
    ];
    const { known } = rejudge(said, usual, rear);
    expect(known).toEqual({
      clips: 4,
      byCoach: 3,
      rightBefore: 2, // the unusable one went back, the good one went on
      rightAfter: 3,
      mended: [said[0]?.id, said[1]?.id],
      spoilt: [said[2]?.id],
    });
  });

  it('judges by the request that the clip was judged by', () => {
    const front = clip({ deg: 0 }, { request: { lift: 'squat', view: 'front' } });
    expect(rejudge([front], usual, usual).flips).toEqual([]);
    expect(sharesOf([front], usual, null).byRule.get('view')).toBe(undefined);
    expect(sharesOf([{ ...front, request: null }], usual, null).byRule.get('view')).toEqual({ stops: 1, advises: 0 });
  });

  it('finds the flips that judging each clip by hand finds', () => {
    const random = randomFrom(11);
    const clips = Array.from({ length: 400 }, () => {
      const one = clip({ heightShare: random() });
      const view = viewAt(360 * random() - 180, { spread: 60 * random(), confidence: 0.5 + 0.5 * random() });
      return { ...one, facts: { ...one.facts, view } };
    });
    const strict = parseRules('view: { options: { fixAt: 0.6 } }\nlifter-size: { options: { fixBelow: 0.3 } }', 'rules');
    const { flips } = rejudge(clips, usual, strict);
    const byHand = clips.filter(
      ({ facts }) => judge(facts, { settings: usual }).verdict !== judge(facts, { settings: strict }).verdict,
    );
    expect(flips.flatMap(({ ids }) => ids).sort()).toEqual(byHand.map(({ id }) => id).sort());
    expect(byHand.length).toBeGreaterThan(10);
  });
});

describe('what people said', () => {
  it.each([
    [null, [], null],
    [null, [word('asked-view')], null],
    [null, [word('appeal')], { usable: true, by: 'member' }],
    [null, [word('accepted'), word('appeal')], { usable: true, by: 'coach' }],
    [null, [word('accepted'), word('unusable')], { usable: false, by: 'coach' }],
    ['taken', [word('unusable')], { usable: false, by: 'coach' }],
    ['done', [word('unusable')], { usable: true, by: 'coach' }],
    ['unusable', [word('appeal')], { usable: false, by: 'coach' }],
    ['waiting', [], null],
  ] as const)('on the desk %s, said %o: %o', (desk, words, truth) => expect(truthOf({ desk, words })).toEqual(truth));
});

describe('shares', () => {
  it('tells how many clips each rule stops, of all and of one lift', () => {
    const clips = [
      clip(),
      clip({ deg: 0 }),
      clip({ deg: 0, heightShare: 0.1 }),
      clip({ deg: 0, lift: 'press' }),
      clip({ heightShare: 0.26 }),
    ];
    const all = sharesOf(clips, usual, null);
    expect(all.clips).toBe(5);
    expect(all.byRule.get('view')).toEqual({ stops: 3, advises: 0 });
    const squats = sharesOf(clips, usual, 'squat');
    expect(squats.clips).toBe(4);
    expect(squats.byRule.get('view')).toEqual({ stops: 2, advises: 0 });
    expect(squats.byRule.get('lifter-size')).toEqual({ stops: 1, advises: 1 });
  });
});

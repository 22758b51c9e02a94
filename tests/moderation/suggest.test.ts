import { describe, expect, it } from 'vitest';
import { oftenOverruled, suggestions } from '../../src/moderation/suggest.ts';
import { parseRules } from '../../src/settings/load.ts';
import { clip, word } from './clips.ts';

const usual = parseRules('', 'rules');
const many = <T>(count: number, make: (i: number) => T) => Array.from({ length: count }, (_, i) => make(i));
/** Squats whose lifter is 0.2 of the picture's height: sent back as too small, from 0.22. */
const small = (count: number, more = {}) => many(count, () => clip({ heightShare: 0.2 }, more));
const accepted = { words: [word('appeal'), word('accepted')] };

describe('rules that are often overruled', () => {
  it('are told from five clips on, and a fifth of what they stop', () => {
    expect(oftenOverruled(small(4, accepted), usual)).toEqual([]);
    expect(oftenOverruled(small(5, accepted), usual)).toEqual([{ rule: 'lifter-size', stops: 5, overruled: 5, byCoach: 5 }]);
    expect(oftenOverruled([...small(5, accepted), ...small(20)], usual)).toMatchObject([{ stops: 25, overruled: 5 }]);
    expect(oftenOverruled([...small(5, accepted), ...small(21)], usual)).toEqual([]);
  });

  it('counts members beside coaches, and nobody who was told that the clip is no use', () => {
    const said = [
      ...small(4, { words: [word('appeal')] }),
      ...small(1, accepted),
      ...small(2, { words: [word('appeal'), word('unusable')] }),
    ];
    expect(oftenOverruled(said, usual)).toEqual([{ rule: 'lifter-size', stops: 7, overruled: 5, byCoach: 1 }]);
  });

  it('blames the rule that is named', () => {
    const both = (rule: string | null) => many(5, () => clip({ deg: 0, heightShare: 0.2 }, { words: [word('appeal', rule)] }));
    expect(oftenOverruled(both('view'), usual).map(({ rule }) => rule)).toEqual(['view']);
    expect(
      oftenOverruled(both(null), usual)
        .map(({ rule }) => rule)
        .sort(),
    ).toEqual(['lifter-size', 'view']);
  });
});

describe('suggestions', () => {
  it('loosen a threshold on the side that people contradict, as little as it takes', () => {
    const [one, ...others] = suggestions([...small(6, accepted), ...many(5, () => clip({}, { desk: 'done' }))], usual);
    expect(others).toEqual([]);
    expect(one).toMatchObject({
      change: { rule: 'lifter-size', setting: 'fixBelow', lift: 'squat' },
      from: 0.22,
      mended: 6,
      spoilt: 0,
      silent: 0,
    });
    expect(Number(one?.change.value)).toBeLessThanOrEqual(0.2);
    expect(Number(one?.change.value)).toBeGreaterThan(0.15);
  });

  it('tighten one that coaches missed', () => {
    const lead = (leadInS: number, more: object) => {
      const one = clip({}, more);
      return { ...one, facts: { ...one.facts, sharpness: { known: true as const, value: leadInS } } };
    };
    const blurred = many(6, () => lead(0.16, { desk: 'unusable', words: [word('unusable', 'sharpness')] }));
    const crisp = many(10, () => lead(0.6, { desk: 'done' }));
    const strict = parseRules('sharpness: { severity: fix }', 'rules');
    expect(suggestions([...blurred, ...crisp], strict)).toMatchObject([
      { change: { rule: 'sharpness', lift: null, setting: 'min', value: expect.closeTo(0.17, 1) }, mended: 6, spoilt: 0 },
    ]);
  });

  it('rest on five clips or are not made', () => {
    expect(suggestions(small(4, accepted), usual)).toEqual([]);
    expect(suggestions(small(5, accepted), usual)).toHaveLength(1);
  });

  it('are not made against as many clips that were rightly sent back', () => {
    const unusable = small(3, { words: [word('appeal'), word('unusable')] });
    expect(suggestions([...small(6, accepted), ...unusable], usual)).toEqual([]);
  });

  it('are not made where many more went back without a word', () => {
    expect(suggestions([...small(5, accepted), ...small(10)], usual)).toMatchObject([{ mended: 5, silent: 10 }]);
    expect(suggestions([...small(5, accepted), ...small(11)], usual)).toEqual([]);
  });
});

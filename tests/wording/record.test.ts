import { describe, expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import { compareSets } from '../../src/record/compare.ts';
import { setRecordOf } from '../../src/record/set-record.ts';
import { wordComparison, wordSpeed } from '../../src/wording/record.ts';
import { exampleFacts } from '../facts-example.ts';
import { madeSet } from '../record/made-sets.ts';

const line = (...made: Parameters<typeof madeSet>) => wordSpeed(madeSet(...made), 'en', 'member').text;

describe('bar speed in words', () => {
  it('tells each rep, the spread, the peak and the loss', () => {
    expect(line({ meansMps: [0.5, 0.46, 0.4], statureM: 1.73 })).toBe(
      'Bar speed on the way up, mean of each rep: 0.50, 0.46, 0.40 m/s (± 0.06), peak 0.80. Loss from the fastest rep to the last: 20 % (± 7).',
    );
  });

  it('says when it takes a lifter of average height', () => {
    expect(line({ meansMps: [0.5] })).toBe(
      'Bar speed on the way up, mean: 0.50 m/s (± 0.07, for a lifter of average height), peak 0.80.',
    );
    expect(line({ meansMps: [0.5], statureM: 1.7 })).not.toContain('average');
  });

  it('claims no loss within the spread', () => {
    expect(line({ meansMps: [0.5, 0.47] })).toContain('No loss over the set that shows (less than 8 % cannot be told).');
  });

  it('names reps that were not told, and keeps long sets short', () => {
    expect(line({ meansMps: [0.5, null, 0.4] })).toContain('0.50, not told, 0.40 m/s');
    expect(line({ meansMps: [0.5, null] })).toContain('0.50 m/s, not told (±');
    const long = line({ meansMps: [0.5, 0.5, 0.62, 0.5, 0.5, 0.5, 0.5, 0.5, 0.45, 0.4] });
    expect(long).toContain('rep 1 0.50, rep 3 0.62, rep 10 0.40 m/s');
  });

  it.each(['camera-moves', 'slow-motion', 'cut-inside', 'hidden', 'no-lift', 'too-few-frames', 'not-measured'] as const)(
    'says why it cannot tell: %s',
    (reason) => {
      const facts = exampleFacts('squat', { barSpeed: unknown(reason) });
      const { text } = wordSpeed(setRecordOf(facts, { lift: 'squat', statureM: null }), 'en', 'member');
      expect(text).toMatch(/^Bar speed: cannot tell \(.+\)\.$/);
      expect(text).not.toContain(`(${reason})`);
    },
  );

  it('speaks to a coach of the lifter, to the member of themselves', () => {
    const set = setRecordOf(exampleFacts('squat', { barSpeed: unknown('hidden') }), { lift: 'squat', statureM: null });
    expect(wordSpeed(set, 'en', 'coach').text).toBe('Bar speed: cannot tell (too much of the lifter was hidden).');
    expect(wordSpeed(set, 'en', 'member').text).toBe('Bar speed: cannot tell (too much of you was hidden).');
  });
});

describe('a comparison in words', () => {
  const earlier = { atMs: Date.UTC(2026, 10, 12, 9), loadKg: 100, unit: 'kg' } as const;
  const before = madeSet({ meansMps: [0.5, 0.45] });
  const said = (made: Parameters<typeof madeSet>[0], unit: 'kg' | 'lb' = 'kg') =>
    wordComparison(compareSets(madeSet(made), before), { ...earlier, unit }, 'en').text;

  it('tells faster, slower and the same', () => {
    expect(said({ meansMps: [0.6, 0.54] })).toMatch(
      /^Faster than on 2026-11-12 with 100 kg: about 20 % \(± \d+\) over the first 2 reps\.$/,
    );
    expect(said({ meansMps: [0.4] })).toMatch(/^Slower than on 2026-11-12 with 100 kg: about 20 % \(± \d+\) over one rep\.$/);
    expect(said({ meansMps: [0.51, 0.45] })).toMatch(/^As fast as on 2026-11-12 .*less than \d+ % cannot be told\)\.$/);
    expect(said({ meansMps: [0.51, 0.45] }, 'lb')).toContain('with 220.5 lb (100 kg)');
  });

  it('tells why it does not compare', () => {
    expect(said({ meansMps: [0.5], loadKg: 60 })).toBe('Not compared: the earlier set has another load.');
    expect(said({ meansMps: [0.5], loadKg: null })).toBe('Not compared: the load is not in the caption.');
  });
});

import { describe, expect, it } from 'vitest';
import { compareSets, latestAlike } from '../../src/record/compare.ts';
import { randomFrom } from '../judge/random-facts.ts';
import { madeSet } from './made-sets.ts';

const before = madeSet({ meansMps: [0.5, 0.47, 0.44] });
const told = (a: Parameters<typeof compareSets>[0], b = before) => {
  const comparison = compareSets(a, b);
  if (comparison.result === 'cannot-tell') throw new Error(comparison.reason);
  return comparison;
};

describe('comparing two sets', () => {
  it('finds the same set the same', () => {
    expect(told(before)).toMatchObject({ result: 'same', reps: 3, earlierFactor: 1 });
    expect(told(before).percent).toBeCloseTo(0, 9);
  });

  it('finds faster and slower, and turns round with the sets', () => {
    const fast = madeSet({ meansMps: [0.6, 0.57, 0.53] });
    expect(told(fast)).toMatchObject({ result: 'faster' });
    expect(told(fast).percent).toBeGreaterThan(15);
    expect(told(before, fast)).toMatchObject({ result: 'slower' });
    expect((1 + told(fast).percent / 100) * (1 + told(before, fast).percent / 100)).toBeCloseTo(1, 9);
  });

  it('calls a difference within the spread the same, and one just above it not', () => {
    const times = (factor: number) => madeSet({ meansMps: [0.5, 0.47, 0.44].map((v) => v * factor) });
    const edge = 1 + told(before).spreadPoints / 100;
    expect(told(times(edge * 0.985)).result).toBe('same');
    expect(told(times(edge * 1.015)).result).toBe('faster');
  });

  it('compares as many first reps as both have', () => {
    expect(told(madeSet({ meansMps: [0.5, 0.47] })).reps).toBe(2);
    expect(told(madeSet({ meansMps: [0.5, null, 0.44, 0.4] })).reps).toBe(2);
  });

  it('lets the times speak where the scales of the clips disagree', () => {
    // the same set read 15 % too large: its times are the same, its heights and speeds are not
    const large = madeSet({ meansMps: [0.5, 0.47, 0.44].map((v) => 1.15 * v), wayM: 0.55 * 1.15 });
    expect(told(large).result).toBe('same');
    expect(told(large).percent).toBeLessThan(5);
    // and the earlier set is drawn on the new clip's scale
    expect(told(large).earlierFactor).toBeGreaterThan(1.1);
  });

  it('trusts the heights more the surer the scales are', () => {
    const of = (scaleShare: number) => {
      const higher = madeSet({ meansMps: [0.6, 0.6, 0.6], wayM: 0.6, scaleShare });
      return told(higher, madeSet({ meansMps: [0.5, 0.5, 0.5], wayM: 0.5, scaleShare })).percent;
    };
    expect(of(0.01)).toBeGreaterThan(17);
    expect(of(0.3)).toBeLessThan(2);
  });

  it.each([
    ['other-lift', madeSet({ meansMps: [0.5], lift: 'bench' })],
    ['load-unknown', madeSet({ meansMps: [0.5], loadKg: null })],
    ['other-load', madeSet({ meansMps: [0.5], loadKg: 102.51 })],
    ['speed-unknown', madeSet({ meansMps: [null, null] })],
    ['speed-unknown', madeSet({ meansMps: [null, null, null, 0.4] })],
  ] as const)('cannot tell: %s', (reason, set) => {
    expect(compareSets(set, before)).toEqual({ result: 'cannot-tell', reason });
  });

  it('takes loads within 2.5 % for the same', () => {
    for (const loadKg of [97.6, 102.5]) expect(compareSets(madeSet({ meansMps: [0.5], loadKg }), before).result).toBe('same');
    expect(compareSets(madeSet({ meansMps: [0.5], loadKg: 97.5 }), before).result).toBe('cannot-tell');
  });

  it('has the true change within its spread nine times in ten', () => {
    const random = randomFrom(5);
    /** Nearly normal, as the sum of twelve; a 90 % half-width is 1.645 standard deviations. */
    const noise = (halfWidth: number) =>
      (halfWidth / 1.645) * (Array.from({ length: 12 }, random).reduce((a, b) => a + b, 0) - 6);
    const clip = () => {
      // the way differs by 8 % between two sets, the scale of each clip by 10 %, the time of each rep by 6 %
      const [wayM, scale] = [0.55 * Math.exp(noise(0.08 / Math.SQRT2)), Math.exp(noise(0.1))];
      const means = [1.1, 1.2, 1.3].map((upS) => (wayM * scale) / (upS * Math.exp(noise(0.06))));
      return { wayM, set: madeSet({ meansMps: means, wayM: wayM * scale }) };
    };
    const inside = Array.from({ length: 1500 }, () => {
      const [now, earlier] = [clip(), clip()];
      const { percent, spreadPoints } = told(now.set, earlier.set);
      return Math.abs(percent - 100 * (now.wayM / earlier.wayM - 1)) <= spreadPoints;
    });
    const share = inside.filter(Boolean).length / inside.length;
    expect(share).toBeGreaterThan(0.86);
    expect(share).toBeLessThan(0.94);
  });
});

describe('the earlier set to compare with', () => {
  it('is the latest of the same lift and load with speeds', () => {
    const sets = [
      { atMs: 1, set: madeSet({ meansMps: [0.5] }) },
      { atMs: 3, set: madeSet({ meansMps: [0.5], loadKg: 101 }) },
      { atMs: 2, set: madeSet({ meansMps: [0.4] }) },
      { atMs: 4, set: madeSet({ meansMps: [0.5], loadKg: 120 }) },
      { atMs: 5, set: madeSet({ meansMps: [null] }) },
    ];
    expect(latestAlike(before, sets)?.atMs).toBe(3);
    expect(latestAlike(before, sets.slice(3))).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import { Facts } from '../../src/facts/facts.ts';
import { measuredReps, setRecordOf, speedLoss } from '../../src/record/set-record.ts';
import { exampleFacts } from '../facts-example.ts';
import { factsOfSet, madeSet } from './made-sets.ts';

describe('the record of a set', () => {
  it('reads facts that were stored before speeds were measured', () => {
    const { barSpeed: _, ...old } = exampleFacts('squat');
    expect(Facts.parse(JSON.parse(JSON.stringify(old))).barSpeed).toEqual({ known: false, reason: 'not-measured' });
  });

  it('puts a set stature to speeds that were measured without one', () => {
    const facts = factsOfSet({ meansMps: [0.5, 0.4] });
    const average = setRecordOf(facts, { lift: 'squat', statureM: null });
    const tall = setRecordOf(facts, { lift: 'squat', statureM: 1.9 });
    // speed is pixels a second times metres a pixel, which grow with the stature
    expect(tall.reps[0]!.speed!.meanMps).toBeCloseTo((0.5 * 1.9) / 1.73, 9);
    expect(tall.reps[1]!.speed!.peakMps).toBeCloseTo((0.64 * 1.9) / 1.73, 9);
    const share = (of: typeof tall) => of.reps[0]!.speed!.meanSpreadMps / of.reps[0]!.speed!.meanMps;
    expect(share(average)).toBeCloseTo(Math.hypot(0.06, 0.1, 0.09), 9);
    expect(share(tall)).toBeCloseTo(Math.hypot(0.06, 0.1, 0.012), 9);
    expect([average.scale!.assumed, tall.scale!.assumed]).toEqual([true, false]);
  });

  it('keeps the place of reps that were not measured', () => {
    const set = madeSet({ meansMps: [0.5, null, 0.4] });
    expect(set.reps.map(({ speed }) => speed?.meanMps ?? null)).toEqual([0.5, null, 0.4]);
    expect(measuredReps(set).map(({ rep }) => rep)).toEqual([1, 3]);
  });

  it('keeps rep times and the reason where no speed is known', () => {
    const facts = exampleFacts('press', { barSpeed: unknown('camera-moves') });
    const set = setRecordOf(facts, { lift: 'press', statureM: 1.8 });
    expect(set).toMatchObject({ speedUnknown: 'camera-moves', scale: null, reps: [{ startS: 1, endS: 3.5 }, { startS: 4 }] });
    expect(measuredReps(set)).toEqual([]);
    expect(speedLoss(set)).toBeNull();
  });
});

it('has no speed of a set that was measured as another lift than it is judged as', () => {
  const facts = factsOfSet({ meansMps: [0.5, 0.4] });
  expect(setRecordOf(facts, { lift: 'press', statureM: null })).toMatchObject({ lift: 'press', speedUnknown: 'lift-unknown' });
});

describe('loss of speed over a set', () => {
  it('goes from the fastest rep to the last', () => {
    const loss = speedLoss(madeSet({ meansMps: [0.48, 0.5, 0.45, 0.4] }))!;
    expect(loss.percent).toBeCloseTo(20, 9);
    expect(loss.spreadPoints).toBeCloseTo(80 * Math.hypot(0.06, 0.06), 9);
  });

  it('is nothing where the last rep is the fastest', () => {
    expect(speedLoss(madeSet({ meansMps: [0.4, 0.5] }))).toMatchObject({ percent: 0 });
  });

  it('does not change with the stature: it is a ratio', () => {
    const means = [0.6, 0.5, 0.33];
    expect(speedLoss(madeSet({ meansMps: means, statureM: 1.55 }))!.percent).toBeCloseTo(45, 9);
    expect(speedLoss(madeSet({ meansMps: means, statureM: 2.0 }))!.percent).toBeCloseTo(45, 9);
  });

  it('is not told from one rep, or without the last', () => {
    expect(speedLoss(madeSet({ meansMps: [0.5] }))).toBeNull();
    expect(speedLoss(madeSet({ meansMps: [0.5, 0.45, null] }))).toBeNull();
  });

  /**
   * Published load-velocity data, from memory: mean speed at the one-rep maximum about 0.30 m/s in the squat, 0.17 in the bench press
   * (Gonzalez-Badillo and Sanchez-Medina 2010: 0.16 to 0.17; Conceicao et al. 2016: squat 0.32), 0.15 in the deadlift; at about 70 % of
   * it near 0.7, 0.6 and 0.5 m/s. Losing all but that to the last rep that goes is a loss of 55 to 75 %, which is what sets to failure show.
   */
  it.each([
    { lift: 'squat', firstMps: 0.7, lastMps: 0.3, from: 55, to: 60 },
    { lift: 'bench', firstMps: 0.6, lastMps: 0.17, from: 70, to: 75 },
    { lift: 'deadlift', firstMps: 0.5, lastMps: 0.15, from: 68, to: 72 },
  ] as const)('of a set to failure agrees with published speeds: $lift', ({ lift, firstMps, lastMps, from, to }) => {
    const { percent } = speedLoss(madeSet({ lift, meansMps: [firstMps, (firstMps + lastMps) / 2, lastMps] }))!;
    expect(percent).toBeGreaterThan(from);
    expect(percent).toBeLessThan(to);
  });
});

import { describe, expect, it } from 'vitest';
import { type BenchRow, benchTable, type ClipCosts, middleOf, sharesOf } from '../../src/cli/bench-table.ts';

const costs = (cpuS: number): ClipCosts => ({
  decode: { wallS: 6, cpuS: 10 },
  measure: { wallS: 12, cpuS },
  poseCpuS: 5,
  pictures: { wallS: 1, cpuS: 2 },
  trim: { wallS: 2, cpuS: 4 },
  peakRssMb: 10 * cpuS,
});
const row: BenchRow = { name: 'a clip', lengthS: 60, mbitPerS: 12, plainCpuS: 80, ...costs(18) };

describe('the table of the bench', () => {
  it('takes the middle run of each cost and the most memory', () => {
    expect(middleOf([costs(30), costs(18), costs(20)])).toEqual({ ...costs(20), peakRssMb: 300 });
  });

  it('takes measuring apart into decoding, pose and the rest', () => {
    const shares = sharesOf(row);
    expect(shares).toMatchObject({ measure: 1.8, pose: 0.5, otherCpuS: 3, other: 0.3, pictures: 0.2, trim: 0.4 });
    expect(1 + shares.pose + shares.other).toBeCloseTo(shares.measure, 12);
  });

  it('holds the plain pipeline with its decoding against measuring', () => {
    expect(sharesOf(row)).toMatchObject({ plainCpuS: 90, plainTimes: 5, cpuPerClipS: 0.3 });
  });

  it('prints each part as seconds and as a multiple of decoding', () => {
    const text = benchTable([row, { ...row, name: 'another' }]);
    expect(text).toMatch(/^ +a clip +another\n/);
    expect(text).toMatch(/decoding alone.* 10\.00 s +1\.00 /);
    expect(text).toMatch(/of it pose +5\.00 s +0\.50 /);
    expect(text).toMatch(/of it other measuring +3\.00 s +0\.30 /);
    expect(text).toMatch(/heavy model on every frame.* 90\.00 s +5\.00/);
    expect(new Set(text.split('\n').map(({ length }) => length)).size).toBe(1);
  });
});

import { describe, expect, it } from 'vitest';
import { type EarlierSet, speedChart } from '../../src/pictures/speed-chart.ts';
import { type MadeSet, madeSet } from '../record/made-sets.ts';
import { overlaps, pngSize, smallestTextPx, textBoxes } from './read-svg.ts';

const day = Date.UTC(2026, 10, 12);
const falling = (count: number, fromMps: number, stepMps: number): MadeSet => ({
  meansMps: Array.from({ length: count }, (_, i) => fromMps - stepMps * i),
});
const chart = (made: MadeSet, before?: MadeSet, factor = 1) => {
  const earlier: EarlierSet | undefined = before && { atMs: day, set: madeSet(before), factor };
  return speedChart(madeSet(made), { language: 'en', earlier });
};

/** Bars of one kind: left edge, top and height in px. */
function bars(svg: string, kind: 'now' | 'before') {
  const found = svg.matchAll(
    new RegExp(`<rect class="${kind}" x="([\\d.]+)" y="([\\d.]+)" width="[\\d.]+" height="([\\d.]+)"`, 'g'),
  );
  return [...found].map(([, x, y, height]) => ({ x: Number(x), y: Number(y), height: Number(height) }));
}
/** Ends of the spread lines: top and bottom in px. */
const spreads = (svg: string) =>
  [...svg.matchAll(/<path class="spread" d="M[\d.]+ ([\d.]+) V([\d.]+)/g)].map(
    ([, low, high]) => [Number(high), Number(low)] as const,
  );

describe('speedChart', () => {
  it.each([
    { name: 'one rep', now: { meansMps: [0.17] }, before: undefined },
    { name: 'three reps', now: falling(3, 0.6, 0.05), before: undefined },
    { name: 'five beside five', now: falling(5, 0.6, 0.05), before: falling(5, 0.55, 0.05) },
    { name: 'eight beside one', now: falling(8, 1.2, 0.05), before: falling(1, 1.1, 0) },
    { name: 'two beside twelve', now: falling(2, 0.4, 0.05), before: falling(12, 0.55, 0.03) },
    { name: 'twenty beside twenty', now: falling(20, 0.8, 0.02), before: falling(20, 0.7, 0.02) },
    { name: 'gaps', now: { meansMps: [0.5, null, 0.45, null] }, before: { meansMps: [null, 0.5] } },
    { name: 'equal speeds', now: falling(10, 0.5, 0), before: falling(10, 0.5, 0) },
    { name: 'very fast', now: falling(4, 1.99, 0.1), before: undefined },
    { name: 'very slow', now: falling(4, 0.06, 0.005), before: undefined },
  ])('reads well: $name', ({ now, before }) => {
    const { svg, png, alt } = chart(now, before);
    const boxes = textBoxes(svg);
    expect(overlaps(boxes)).toEqual([]);
    const { widthPx, heightPx } = pngSize(png);
    expect(widthPx).toBe(720);
    for (const box of boxes) {
      expect(box.left, box.text).toBeGreaterThanOrEqual(10);
      expect(box.right, box.text).toBeLessThanOrEqual(widthPx - 8);
      expect(box.bottom, box.text).toBeLessThanOrEqual(heightPx - 4);
    }
    expect(smallestTextPx(svg)).toBeGreaterThanOrEqual(26);
    expect(`${svg}${alt}`).not.toMatch(/NaN|undefined|Infinity|null/);
    expect(bars(svg, 'now')).toHaveLength(now.meansMps.filter((v) => v !== null).length);
    expect(bars(svg, 'before')).toHaveLength(before?.meansMps.filter((v) => v !== null).length ?? 0);
  });

  it('draws speeds and spreads to scale from zero', () => {
    const { svg } = chart({ meansMps: [0.6, 0.3], repShare: 0.1 });
    const [one, two] = bars(svg, 'now');
    expect(one!.height / two!.height).toBeCloseTo(2, 2);
    const perMps = one!.height / 0.6;
    const [top, bottom] = spreads(svg)[0]!;
    expect((bottom - top) / perMps).toBeCloseTo(0.12, 2);
    expect(one!.y + one!.height).toBeCloseTo(two!.y + two!.height, 1);
  });

  it('draws the earlier set beside it on the same scale', () => {
    const { svg } = chart({ meansMps: [0.5, 0.4] }, { meansMps: [0.5, 0.4] }, 1.2);
    const [now, before] = [bars(svg, 'now'), bars(svg, 'before')];
    expect(before[0]!.height / now[0]!.height).toBeCloseTo(1.2, 2);
    expect(before[0]!.x).toBeLessThan(now[0]!.x);
  });

  it('writes the means, in long sets those of the first, the fastest and the last rep', () => {
    const said = (made: MadeSet) => textBoxes(chart(made).svg).filter(({ text }) => /^\d\.\d\d$/.test(text));
    expect(said(falling(3, 0.6, 0.05)).map(({ text }) => text)).toEqual(['0.60', '0.55', '0.50']);
    const long = { meansMps: [0.5, 0.51, 0.5, 0.49, 0.61, 0.48, 0.47, 0.46, 0.45, 0.44, 0.43, 0.42] };
    expect(said(long).map(({ text }) => text)).toEqual(['0.50', '0.61', '0.42']);
  });

  it('says in its alt text what it shows', () => {
    expect(chart({ meansMps: [0.6, 0.5] }, { meansMps: [0.55, 0.5] }).alt).toBe(
      'Chart of the bar speed in 2 reps: mean of the way up 0.60, 0.50 m/s, give or take 0.09, peak 0.96 m/s. Beside it the set of 2026-11-12: 0.55, 0.50 m/s.',
    );
  });

  it('is not drawn without a measured rep', () => {
    expect(() => chart({ meansMps: [null] })).toThrow(RangeError);
  });
});

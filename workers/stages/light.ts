import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import type { Box, SmallGray } from './small-gray.ts';

type Light = Extract<Facts['light'], { known: true }>['value'];

/** Light changes slowly: one look in this time is enough, s. */
const everyS = 0.3;
/** Where even the brightest tenth of lifter and surroundings (luma 0..1) is darker than this, nothing can be told of the lifter. */
const darkBelow = 0.24;
/** How much brighter (factor of luma) the surroundings' brightest tenth is than the lifter's, from which the light is behind. */
const backlitAbove = 2.15;
/** Light behind the lifter is at least this bright. */
const glareLuma = 0.7;
/** Share of a tenth: what is bright. */
const bright = 0.9;

type Look = { timeS: number; mean: number; seen: number; behind: number | null };

/**
 * Measures how bright picture and lifter are. Push every frame in order, with the lifter's box where known (null: the whole picture
 * is judged, and light from behind cannot be told).
 */
export function createLight(): {
  push(picture: SmallGray, lifter: Box | null): void;
  /** Over the whole clip or a window of it; the confidence is that of `dark`. Unknown without a frame. */
  facts(window?: { startS: number; endS: number }): Fact<Light>;
} {
  const looks: Look[] = [];
  return {
    push(picture, lifter) {
      const last = looks.at(-1);
      if (last && picture.timeS - last.timeS < everyS - 0.01) return;
      looks.push({ timeS: picture.timeS, ...look(picture, lifter) });
    },
    facts(window = { startS: 0, endS: Number.POSITIVE_INFINITY }) {
      const within = looks.filter(({ timeS }) => timeS >= window.startS - everyS && timeS <= window.endS + everyS);
      if (within.length === 0) return unknown('too-few-frames');
      const mean = within.reduce((sum, one) => sum + one.mean, 0) / within.length;
      const darkness = below(middle(within.map(({ seen }) => seen)), darkBelow);
      const behind = within.map((one) => one.behind).filter((value) => value !== null);
      const dark = darkness > 0.5;
      const backlit = !dark && behind.length >= within.length / 3 && middle(behind) > backlitAbove;
      return known({ mean, dark, backlit }, { confidence: dark ? darkness : 1 - darkness });
    },
  };
}

/** Probability that a luma is below a threshold: 0.95 at 1.4 times less. A scale chosen, not fitted. */
const below = (luma: number, threshold: number) => 1 / (1 + (Math.max(luma, 1e-3) / threshold) ** (3 / Math.log(1.4)));

const middle = (values: number[]) => values.sort((a, b) => a - b)[values.length >> 1]!;

const inside = new Int32Array(256);
const around = new Int32Array(256);

function look({ data, widthPx, heightPx, shrink }: SmallGray, lifter: Box | null): Omit<Look, 'timeS'> {
  let sum = 0;
  for (let i = 0; i < data.length; i++) sum += data[i]!;
  const mean = sum / data.length / 255;
  inside.fill(0);
  around.fill(0);
  if (lifter) {
    const [w, h] = [lifter.widthPx / shrink, lifter.heightPx / shrink];
    const [left, top] = [lifter.x / shrink, lifter.y / shrink];
    // beside the lifter by half the box's width; the middle of the box is mostly the lifter
    const [fromX, toX] = [Math.max(0, Math.round(left - 0.6 * w)), Math.min(widthPx, Math.round(left + 1.6 * w))];
    const [fromY, toY] = [Math.max(0, Math.round(top - 0.1 * h)), Math.min(heightPx, Math.round(top + 0.9 * h))];
    for (let y = fromY; y < toY; y++) {
      const v = (y - top) / h;
      for (let x = fromX; x < toX; x++) {
        const u = (x - left) / w;
        const value = data[y * widthPx + x]!;
        if (u > 0.2 && u < 0.8 && v > 0.1 && v < 0.8) inside[value] = inside[value]! + 1;
        else if (u < -0.1 || u > 1.1) around[value] = around[value]! + 1;
      }
    }
  }
  const [own, beside] = [quantile(inside, bright), quantile(around, bright)];
  if (own !== null && beside !== null) {
    return { mean, seen: Math.max(own, beside), behind: beside < glareLuma ? 0 : beside / Math.max(own, 0.02) };
  }
  for (let i = 0; i < data.length; i += 3) inside[data[i]!] = inside[data[i]!]! + 1;
  return { mean, seen: quantile(inside, bright) ?? mean, behind: null };
}

/** Luma 0..1 that the given share of a histogram is at or below; null with fewer than 50 pixels. */
function quantile(histogram: Int32Array, share: number): number | null {
  let count = 0;
  for (const n of histogram) count += n;
  if (count < 50) return null;
  let left = share * count;
  for (let level = 0; level < 256; level++) {
    left -= histogram[level]!;
    if (left <= 0) return level / 255;
  }
  return 1;
}

import { cropSide } from '../pose/crop.ts';
import type { Point } from '../pose/types.ts';
import type { Square } from './course.ts';
import { lumaAt } from './small-gray.ts';

/** Side of a patch, pixels, and the step of the picture that it is cut out with, picture pixels. */
export interface Grid {
  sidePx: number;
  stepPx: number;
}

/** Half the side of the square whose mean is taken off, so that a patch tells what is in it and not how light it is; levels beyond are cut off. */
const [aroundPx, mostLevels] = [6, 25];
/** A patch is looked for so far from where it should be, px, in steps, every so many rows and columns compared; farther away counts less. Chosen. */
const search = {
  coarse: { reachPx: 12, stepPx: 3, every: 3 },
  fine: { reachPx: 2, stepPx: 1, every: 2 },
  away: 0.0002,
};
/** The middles of patches are compared, without so much of their side all around. Chosen. */
const leftOut = 0.18;
/** So many patches are tried as the first likeness, against every third of the others. Chosen. */
const [firstTried, othersEvery] = [8, 3];
const rounds = 3;
/** Below this share of the middle likeness a patch shows something else; a pixel of the mean is seen in at least this share of the patches. Chosen. */
const [likeEnough, seenEnough] = [0.7, 0.25];

/** Luma of a square around a place in a picture, out of a crop of it: `[sidePx][sidePx]`, NaN outside the crop. */
export function patchOf({ region, crop }: Square, { x, y }: Point, { sidePx, stepPx }: Grid): Float32Array {
  const out = new Float32Array(sidePx * sidePx).fill(Number.NaN);
  const scale = region.sidePx / cropSide;
  const cos = Math.cos(region.angleRad) / scale;
  const sin = Math.sin(region.angleRad) / scale;
  const half = (cropSide - 1) / 2;
  const row = 3 * cropSide;
  for (let v = 0, to = 0; v < sidePx; v++) {
    const dy = y + (v - sidePx / 2) * stepPx + 0.5 - region.cy;
    for (let u = 0; u < sidePx; u++, to++) {
      const dx = x + (u - sidePx / 2) * stepPx + 0.5 - region.cx;
      const cropX = half + dx * cos + dy * sin;
      const cropY = half - dx * sin + dy * cos;
      const left = Math.floor(cropX);
      const top = Math.floor(cropY);
      if (left < 0 || top < 0 || left > cropSide - 2 || top > cropSide - 2) continue;
      const fx = cropX - left;
      const fy = cropY - top;
      const at = 3 * (top * cropSide + left);
      const upper = lumaAt(crop, at) * (1 - fx) + lumaAt(crop, at + 3) * fx;
      const lower = lumaAt(crop, at + row) * (1 - fx) + lumaAt(crop, at + row + 3) * fx;
      out[to] = upper * (1 - fy) + lower * fy;
    }
  }
  return out;
}

/** What stands out from its surroundings in a patch, levels; 0 where nothing is seen. */
function outstanding(patch: Float32Array, side: number): Float32Array {
  const wide = side + 1;
  const sums = new Float64Array(wide * wide);
  const counts = new Float64Array(wide * wide);
  for (let y = 0; y < side; y++) {
    for (let x = 0, at = (y + 1) * wide + 1; x < side; x++, at++) {
      const level = patch[y * side + x]!;
      const seen = !Number.isNaN(level);
      sums[at] = (seen ? level : 0) + sums[at - 1]! + sums[at - wide]! - sums[at - wide - 1]!;
      counts[at] = (seen ? 1 : 0) + counts[at - 1]! + counts[at - wide]! - counts[at - wide - 1]!;
    }
  }
  const out = new Float32Array(side * side);
  for (let y = 0; y < side; y++) {
    const top = Math.max(0, y - aroundPx) * wide;
    const bottom = Math.min(side, y + aroundPx + 1) * wide;
    for (let x = 0; x < side; x++) {
      const level = patch[y * side + x]!;
      if (Number.isNaN(level)) continue;
      const left = Math.max(0, x - aroundPx);
      const right = Math.min(side, x + aroundPx + 1);
      const sum = sums[bottom + right]! - sums[top + right]! - sums[bottom + left]! + sums[top + left]!;
      const count = counts[bottom + right]! - counts[top + right]! - counts[bottom + left]! + counts[top + left]!;
      out[y * side + x] = Math.max(-mostLevels, Math.min(mostLevels, level - sum / count));
    }
  }
  return out;
}

type Shift = { dx: number; dy: number; like: number };

/** How a patch must be shifted to be most like another, near a shift, in steps; every so many of the rows and columns are compared. */
function shiftTo(model: Float32Array, patch: Float32Array, side: number, near: Shift, by: typeof search.coarse): Shift {
  let best: Shift = { ...near, like: Number.NEGATIVE_INFINITY };
  for (let dy = near.dy - by.reachPx; dy <= near.dy + by.reachPx; dy += by.stepPx) {
    for (let dx = near.dx - by.reachPx; dx <= near.dx + by.reachPx; dx += by.stepPx) {
      const like = likeness(model, patch, side, dx, dy, by.every) - search.away * (dx * dx + dy * dy);
      if (like > best.like) best = { dx, dy, like };
    }
  }
  return best;
}

/** Correlation of the middles of two patches (`outstanding`), one of them shifted, -1..1. */
function likeness(model: Float32Array, patch: Float32Array, side: number, dx: number, dy: number, every: number): number {
  const edge = Math.round(leftOut * side);
  const firstX = Math.max(edge, -dx);
  const endX = Math.min(side - edge, side - dx);
  const endY = Math.min(side - edge, side - dy);
  let both = 0;
  let ofModel = 0;
  let ofPatch = 0;
  for (let y = Math.max(edge, -dy); y < endY; y += every) {
    const end = y * side + endX;
    for (let at = y * side + firstX, there = at + dy * side + dx; at < end; at += every, there += every) {
      const a = model[at]!;
      const b = patch[there]!;
      both += a * b;
      ofModel += a * a;
      ofPatch += b * b;
    }
  }
  return both / Math.sqrt(Math.max(1, ofModel * ofPatch));
}

const here: Shift = { dx: 0, dy: 0, like: 0 };

/**
 * The mean of patches cut out around something that moves, each shifted to where the others show the same: what moves stays sharp, what stands behind
 * it is blurred away. `[side][side]` luma, NaN where too few see something.
 */
export function steadyMean(patches: readonly Float32Array[], side: number): Float32Array {
  const shown = patches.map((patch) => outstanding(patch, side));
  const coarse = (model: Float32Array, patch: Float32Array) => shiftTo(model, patch, side, here, search.coarse);
  const tried = Math.min(firstTried, shown.length);
  const likenesses = Array.from({ length: tried }, (_, i) => shown[Math.floor(((i + 0.5) * shown.length) / tried)]!);
  const alike = (model: Float32Array) =>
    shown.reduce((sum, patch, i) => sum + (i % othersEvery === 0 && patch !== model ? coarse(model, patch).like : 0), 0);
  let model = likenesses.map((one) => ({ one, sum: alike(one) })).reduce((a, b) => (b.sum > a.sum ? b : a)).one;
  let mean: Float32Array = new Float32Array(side * side);
  for (let round = 0; round < rounds; round++) {
    const shifts = shown.map((patch) => shiftTo(model, patch, side, coarse(model, patch), search.fine));
    // the first likeness is one patch, which may stand elsewhere than most
    const [x, y] = round === rounds - 1 ? [0, 0] : [middleOf(shifts.map((s) => s.dx)), middleOf(shifts.map((s) => s.dy))];
    const enough = likeEnough * middleOf(shifts.map((s) => s.like));
    const some = patches.flatMap((patch, i) =>
      shifts[i]!.like < enough ? [] : [{ patch, dx: shifts[i]!.dx - x, dy: shifts[i]!.dy - y }],
    );
    mean = meanOf(some, side);
    model = outstanding(mean, side);
  }
  return mean;
}

const middleOf = (values: readonly number[]) => [...values].sort((a, b) => a - b)[values.length >> 1]!;

function meanOf(some: readonly { patch: Float32Array; dx: number; dy: number }[], side: number): Float32Array {
  const sums = new Float32Array(side * side);
  const counts = new Uint16Array(side * side);
  for (const { patch, dx, dy } of some) {
    for (let y = Math.max(0, -dy); y < Math.min(side, side - dy); y++) {
      for (let x = Math.max(0, -dx), end = Math.min(side, side - dx); x < end; x++) {
        const level = patch[(y + dy) * side + x + dx]!;
        if (Number.isNaN(level)) continue;
        sums[y * side + x]! += level;
        counts[y * side + x]!++;
      }
    }
  }
  const least = Math.max(2, seenEnough * some.length);
  return sums.map((sum, at) => (counts[at]! < least ? Number.NaN : sum / counts[at]!));
}

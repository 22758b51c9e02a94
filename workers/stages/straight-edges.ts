import type { RgbImage } from '../pose/types.ts';
import { lumaAt } from './small-gray.ts';

/** A straight edge in a picture: its middle from the picture's middle, px (x to the right, y down), its direction (x, y) of length 1, and its length, px. */
export type Edge = { x: number; y: number; along: readonly [x: number, y: number]; lengthPx: number };

/** Least gradient across an edge, levels a pixel. */
const leastGradient = 4;
/** A chain of points follows its last rows, this far off at most, px. */
const follow = { rows: 6, offPx: 1.2 };
/** An edge is straight when no point is farther off its line than this, px: part of it for each of its rows. */
const straight = { px: 0.8, perRow: 0.002 };
/** Shortest edge: rows, and as a share of the picture's long side. */
const shortest = { rows: 14, share: 0.035 };

/** The straight edges of a picture, in any direction. */
export function straightEdges({ data, widthPx: w, heightPx: h }: RgbImage): Edge[] {
  const upright = new Float32Array(w * h);
  const lying = new Float32Array(w * h);
  for (let y = 0, at = 0; y < h; y++)
    for (let x = 0; x < w; x++, at += 3) {
      const level = lumaAt(data, at);
      upright[y * w + x] = level;
      lying[x * h + y] = level;
    }
  const steep = steepEdges(upright, w, h).map(({ x, y, slope, length }) => edgeOf(x, y, [slope, 1], length));
  const flat = steepEdges(lying, h, w).map(({ x, y, slope, length }) => edgeOf(y, x, [1, slope], length));
  return [...steep, ...flat];
}

function edgeOf(x: number, y: number, [dx, dy]: readonly [number, number], steps: number): Edge {
  const perStep = Math.hypot(dx, dy);
  return { x, y, along: [dx / perStep, dy / perStep], lengthPx: steps * perStep };
}

/** A straight edge that leans by at most 45 degrees: its middle from the picture's middle, px, dx/dy, and its rows. */
type Steep = { x: number; y: number; slope: number; length: number };

function steepEdges(gray: Float32Array, w: number, h: number): Steep[] {
  const least = Math.max(shortest.rows, Math.round(shortest.share * Math.max(w, h)));
  const across = new Float32Array(w);
  let open: Chain[] = [];
  const found: Steep[] = [];
  const close = (chain: Chain) => {
    for (const { x, y, slope, length } of straightParts(chain.xs, chain.top, least))
      if (Math.abs(slope) <= 1) found.push({ x: x - (w - 1) / 2, y: y - (h - 1) / 2, slope, length });
  };
  for (let y = 1; y < h - 1; y++) {
    gradients(gray, w, y, across);
    const next: Chain[] = [];
    // both are in order of x
    let from = 0;
    for (let x = 2; x < w - 2; x++) {
      const g = across[x]!;
      const size = Math.abs(g);
      if (size < leastGradient || size < Math.abs(across[x - 1]!) || size <= Math.abs(across[x + 1]!)) continue;
      if (Math.abs(alongAt(gray, w, x, y)) > size) continue;
      const [before, after] = [Math.abs(across[x - 1]!), Math.abs(across[x + 1]!)];
      const bend = before - 2 * size + after;
      const place = bend < 0 ? x + (0.5 * (before - after)) / bend : x;
      while (from < open.length && open[from]!.x < x - 1) from++;
      let taken: Chain | null = null;
      let offPx = follow.offPx;
      for (let at = from; at < open.length && open[at]!.x <= x + 1; at++) {
        const chain = open[at]!;
        const off = Math.abs(place - chain.expected);
        if (chain.sign !== Math.sign(g) || chain.xs.length + chain.top !== y || off > offPx) continue;
        [taken, offPx] = [chain, off];
      }
      if (taken) {
        taken.xs.push(place);
        taken.x = x;
        taken.expected = place + leanOf(taken.xs);
        next.push(taken);
      } else next.push({ xs: [place], top: y, x, sign: Math.sign(g), expected: place });
    }
    for (const chain of open) if (chain.xs.length + chain.top <= y) close(chain);
    open = next;
  }
  for (const chain of open) close(chain);
  return found;
}

/** A chain of edge points: where it is in each row from the top one down, px; the last one's pixel and sign; where the next one is awaited. */
type Chain = { xs: number[]; top: number; x: number; sign: number; expected: number };

/** Pixels a row that a chain leans by, from its last rows. */
function leanOf(xs: readonly number[]): number {
  const n = Math.min(follow.rows, xs.length);
  return n < 3 ? 0 : (xs.at(-1)! - xs.at(-n)!) / (n - 1);
}

/** The horizontal gradient of one row, levels a pixel (Scharr's 3 x 3 kernel, whose direction is truer than Sobel's). */
function gradients(gray: Float32Array, w: number, y: number, into: Float32Array): void {
  for (let x = 1; x < w - 1; x++) {
    const at = y * w + x;
    into[x] =
      (3 * (gray[at - w + 1]! - gray[at - w - 1]! + gray[at + w + 1]! - gray[at + w - 1]!) +
        10 * (gray[at + 1]! - gray[at - 1]!)) /
      32;
  }
}

/** The vertical gradient at one place, the same way. */
function alongAt(gray: Float32Array, w: number, x: number, y: number): number {
  const at = y * w + x;
  return (
    (3 * (gray[at + w - 1]! - gray[at - w - 1]! + gray[at + w + 1]! - gray[at - w + 1]!) + 10 * (gray[at + w]! - gray[at - w]!)) /
    32
  );
}

/** The straight parts of a chain, cut where it is farthest from the line between its ends (Ramer, 1972; Douglas and Peucker, 1973). */
function straightParts(xs: readonly number[], top: number, least: number): Steep[] {
  const n = xs.length;
  if (n < least) return [];
  const middle = (n - 1) / 2;
  const mean = xs.reduce((a, b) => a + b, 0) / n;
  let [up, down] = [0, 0];
  for (let i = 0; i < n; i++) {
    up += (i - middle) * (xs[i]! - mean);
    down += (i - middle) ** 2;
  }
  const slope = up / down;
  let [worst, farthest, at] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    worst = Math.max(worst, Math.abs(xs[i]! - mean - slope * (i - middle)));
    const off = Math.abs(xs[i]! - xs[0]! - (i / (n - 1)) * (xs[n - 1]! - xs[0]!));
    if (off > farthest) [farthest, at] = [off, i];
  }
  if (worst <= straight.px + straight.perRow * n) return [{ x: mean, y: top + middle, slope, length: n }];
  return [...straightParts(xs.slice(0, at + 1), top, least), ...straightParts(xs.slice(at), top + at, least)];
}

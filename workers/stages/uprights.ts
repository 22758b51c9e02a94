import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import { focalPxOf } from './camera.ts';

type Picture = { data: Uint8Array; widthPx: number; heightPx: number; timeS: number };

/** A straight, nearly upright edge in a picture: its middle from the picture's middle, px (y down), dx/dy, and its length down, px. */
export type Upright = { x: number; y: number; slope: number; length: number };

/** Least gradient across an upright edge, levels a pixel, and how much of it may go along. */
const edge = { least: 4, along: 0.5 };
/** A chain of points follows its last rows, this far off at most, px. */
const follow = { rows: 6, offPx: 1.2 };
/** An edge is straight when no point is farther off its line than this, px: part of it for each of its rows. */
const straight = { px: 0.8, perRow: 0.002 };
/** Shortest edge: rows, and as a share of the picture's long side; and its most slope. */
const shortest = { rows: 14, share: 0.035 };
const mostSlope = 0.35;
/**
 * What is searched: tangent of the pitch, and the roll, rad. An edge of the room stands upright within `within` (a slope), its ends found within
 * `endPx`, or is something else, which may lean any way; `share` of the edges are the room's. A phone is held level within `roll.prior` and pitched within `pitch.prior`. Chosen on rendered clips.
 */
const pitch = { most: 0.7, step: 0.01, prior: 0.35 };
const roll = { most: 0.15, step: 0.005, prior: 0.025 };
const room = { within: 0.006, endPx: 0.25, share: 0.5 };
/** Rows of edges that count as one witness: neighbouring rows and edges are not independent. */
const rowsPerWitness = 40;
/** A pitch less sure than this says nothing, degrees. */
const mostSdDeg = 4;
const toDeg = 180 / Math.PI;

/**
 * How far the camera looks up (down: below 0), degrees, from upright lines of the room (walls, racks, door frames) in a clip's pictures (rgb24) within
 * a time, or the nearest to it: seen from a camera that looks up they lean together, the more so the farther from the middle (Coughlan and Yuille,
 * Neural Computation 15(5), 2003, read all three axes of a room so). `spread`: standard deviation. Unknown `ambiguous` where too few lines stand
 * upright. What is seen below `floorFrom` (a share of the picture's height), where the lifter's feet are, are lines of the floor. Holds for pictures as the camera was held, not for turned ones.
 */
export function pitchOf(pictures: readonly Picture[], fromS: number, toS: number, floorFrom: number): Fact<number> {
  const awayS = ({ timeS }: Picture) => Math.max(0, fromS - timeS, timeS - toS);
  const nearestS = Math.min(...pictures.map(awayS));
  const near = pictures.filter((picture) => awayS(picture) === nearestS);
  const [first] = near;
  if (!first) return unknown('too-few-frames');
  const focalPx = focalPxOf(Math.max(first.widthPx, first.heightPx));
  const standing = near.flatMap(uprightsOf).filter(({ y }) => y < (floorFrom - 0.5) * first.heightPx);
  const lines = standing.map(({ x, y, slope, length }) => ({
    ...{ u: x / focalPx, v: y / focalPx, slope },
    weight: length / rowsPerWitness / near.length,
    within: Math.hypot(room.within, room.endPx / length),
  }));
  const outside = (1 - room.share) / (2 * mostSlope);
  const inside = room.share / Math.sqrt(2 * Math.PI);
  const likely: { deg: number; log: number }[] = [];
  for (let t = -pitch.most; t <= pitch.most; t += pitch.step) {
    for (let r = -roll.most; r <= roll.most; r += roll.step) {
      let log = -((t / pitch.prior) ** 2 + (r / roll.prior) ** 2) / 2;
      for (const { u, v, slope, weight, within } of lines) {
        const off = (slope - (u * t) / (1 + v * t) - r) / within;
        log += weight * Math.log(outside + (inside / within) * Math.exp((-off * off) / 2));
      }
      likely.push({ deg: Math.atan(t) * toDeg, log });
    }
  }
  const most = likely.reduce((max, { log }) => Math.max(max, log), Number.NEGATIVE_INFINITY);
  const shares = likely.map(({ log }) => Math.exp(log - most));
  const all = shares.reduce((sum, share) => sum + share, 0);
  const mean = likely.reduce((sum, { deg }, i) => sum + shares[i]! * deg, 0) / all;
  const variance = likely.reduce((sum, { deg }, i) => sum + shares[i]! * (deg - mean) ** 2, 0) / all;
  return Math.sqrt(variance) > mostSdDeg ? unknown('ambiguous') : known(mean, { spread: Math.sqrt(variance) });
}

/** The straight, nearly upright edges of a picture. */
export function uprightsOf({ data, widthPx: w, heightPx: h }: Omit<Picture, 'timeS'>): Upright[] {
  const gray = new Float32Array(w * h);
  // Rec. ITU-R BT.709-6, table 3, item 3.2
  for (let i = 0, at = 0; i < gray.length; i++, at += 3)
    gray[i] = 0.2126 * data[at]! + 0.7152 * data[at + 1]! + 0.0722 * data[at + 2]!;
  const least = Math.max(shortest.rows, Math.round(shortest.share * Math.max(w, h)));
  const across = new Float32Array(w);
  let open: Chain[] = [];
  const found: Upright[] = [];
  const close = (chain: Chain) => {
    for (const { x, y, slope, length } of straightParts(chain.xs, chain.top, least))
      if (Math.abs(slope) <= mostSlope) found.push({ x: x - (w - 1) / 2, y: y - (h - 1) / 2, slope, length });
  };
  for (let y = 1; y < h - 1; y++) {
    gradients(gray, w, y, across);
    const next: Chain[] = [];
    // both are in order of x
    let from = 0;
    for (let x = 2; x < w - 2; x++) {
      const g = across[x]!;
      const size = Math.abs(g);
      if (size < edge.least || size < Math.abs(across[x - 1]!) || size <= Math.abs(across[x + 1]!)) continue;
      if (Math.abs(alongAt(gray, w, x, y)) > edge.along * size) continue;
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
function straightParts(xs: readonly number[], top: number, least: number): Upright[] {
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

import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import { lumaAt } from './small-gray.ts';

type Picture = { data: Uint8Array; widthPx: number; heightPx: number };

/** Larger pictures are shrunk to this long side before measuring; smaller ones are measured as they are. */
const longSidePx = 960;
/** The picture is looked at in columns x rows cells, so that one strong pattern does not speak for all of it. */
const columns = 4;
const rows = 4;
/** The strongest edges of a cell that are measured: this share of its pixels, if their gradient is this many levels a pixel. */
const edgeShare = 0.03;
const minGradient = 1.2;
const minEdges = 20;
/** Variance in px squared of the two blurs below, each with that of a central difference (1/3). */
const fineVariance = 1 + 1 / 3;
const coarseVariance = 1 + 4 + 1 / 3;
/**
 * Measured width (px) at which the value is a half, and how steeply it falls: a Gaussian blur of 4 px, clearly out of focus by eye,
 * measures about 2.4 px (neighbouring edges and compression narrow it) and gives 0.15 or less; untouched clips measure below 0.8 px.
 */
const halfSharpPx = 1.3;
const steepness = 3;

/** The long side at which to read key frames for {@link sharpnessOf}: never larger than the clip's own, as enlarging blurs. */
export function sharpnessLongSidePx(clip: { widthPx: number; heightPx: number }): number {
  return Math.min(longSidePx, Math.max(clip.widthPx, clip.heightPx));
}

/**
 * Sharpness 0..1 from a clip's key frames (rgb24, at {@link sharpnessLongSidePx}): how wide the strongest edges are, found from how much
 * a further blur weakens them (Zhuo and Sim, Pattern Recognition 44(9), 2011), so that neither contrast nor noise count. The
 * sharper part of the picture counts. `spread` is the frames' own. Unknown `too-dark` where no edge stands out.
 */
export function sharpnessOf(frames: readonly Picture[]): Fact<number> {
  const values: number[] = [];
  const [first] = frames;
  if (!first) return unknown('too-few-frames');
  const pixels = first.widthPx * first.heightPx;
  const room = { fine: new Float32Array(pixels), coarse: new Float32Array(pixels), passing: new Float32Array(pixels) };
  for (const frame of frames) {
    const widthPx = edgeWidthPx(frame, room);
    if (widthPx !== null) values.push(1 / (1 + (widthPx / halfSharpPx) ** steepness));
  }
  if (values.length === 0) return unknown('too-dark');
  values.sort((a, b) => a - b);
  const at = (share: number) => values[Math.round(share * (values.length - 1))]!;
  return known(at(0.5), { spread: (at(0.9) - at(0.1)) / 2 });
}

type Room = { fine: Float32Array; coarse: Float32Array; passing: Float32Array };

/** Standard deviation in px of the blur of the strongest edges, in the sharper part of the picture; null without edges. */
function edgeWidthPx({ data, widthPx, heightPx }: Picture, { fine, coarse, passing }: Room): number | null {
  for (let i = 0, at = 0; at < data.length; i++, at += 3) coarse[i] = lumaAt(data, at);
  blur(coarse, passing, fine, widthPx, heightPx, 1);
  blur(fine, passing, coarse, widthPx, heightPx, 2);
  const widths: number[] = [];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const border = 6;
      const [x0, x1] = [column, column + 1].map((k) => border + Math.floor((k * (widthPx - 2 * border)) / columns));
      const [y0, y1] = [row, row + 1].map((k) => border + Math.floor((k * (heightPx - 2 * border)) / rows));
      const width = cellWidthPx(fine, coarse, widthPx, [x0!, x1!, y0!, y1!]);
      if (width !== null) widths.push(width);
    }
  }
  if (widths.length < 3) return null;
  widths.sort((a, b) => a - b);
  return widths[Math.floor(0.3 * widths.length)]!;
}

const bins = 256;
const histogram = new Int32Array(bins);

function cellWidthPx(fine: Float32Array, coarse: Float32Array, w: number, [x0, x1, y0, y1]: [number, number, number, number]) {
  // squared gradient, in steps of a quarter of its root
  const binOf = (squared: number) => Math.min(bins - 1, Math.floor(4 * Math.sqrt(squared)));
  histogram.fill(0);
  for (let y = y0; y < y1; y++) {
    for (let at = y * w + x0; at < y * w + x1; at++) {
      const bin = binOf(squaredGradient(coarse, at, w));
      histogram[bin] = histogram[bin]! + 1;
    }
  }
  let [bin, above] = [bins, 0];
  const wanted = edgeShare * (x1 - x0) * (y1 - y0);
  while (bin > 0 && above < wanted) above += histogram[--bin]!;
  const least = Math.max(minGradient, bin / 4) ** 2;
  const found: number[] = [];
  for (let y = y0; y < y1; y++) {
    for (let at = y * w + x0; at < y * w + x1; at++) {
      const squared = squaredGradient(coarse, at, w);
      if (squared < least) continue;
      const gx = Math.abs(coarse[at + 1]! - coarse[at - 1]!);
      const gy = Math.abs(coarse[at + w]! - coarse[at - w]!);
      const across = gx > gy ? 1 : w;
      if (squaredGradient(coarse, at + across, w) > squared || squaredGradient(coarse, at - across, w) > squared) continue;
      // weakening of the squared gradient = (edge + coarse variance) / (edge + fine variance)
      const weakening = squaredGradient(fine, at, w) / squared;
      found.push(weakening > 1.001 ? Math.max(0, (coarseVariance - weakening * fineVariance) / (weakening - 1)) : 4000);
    }
  }
  if (found.length < minEdges) return null;
  found.sort((a, b) => a - b);
  return Math.sqrt(found[found.length >> 1]!);
}

function squaredGradient(picture: Float32Array, at: number, w: number): number {
  const gx = (picture[at + 1]! - picture[at - 1]!) / 2;
  const gy = (picture[at + w]! - picture[at - w]!) / 2;
  return gx * gx + gy * gy;
}

/** Binomial blur 1 4 6 4 1 both ways with taps `step` px apart: variance step squared. Borders are copied. */
function blur(from: Float32Array, passing: Float32Array, to: Float32Array, w: number, h: number, step: number): void {
  const n = w * h;
  const far = 2 * step;
  passing.set(from);
  for (let at = far; at < n - far; at++) {
    passing[at] = (from[at - far]! + from[at + far]! + 4 * (from[at - step]! + from[at + step]!) + 6 * from[at]!) / 16;
  }
  const [near2, far2] = [step * w, far * w];
  to.set(passing);
  for (let at = far2; at < n - far2; at++) {
    to[at] =
      (passing[at - far2]! + passing[at + far2]! + 4 * (passing[at - near2]! + passing[at + near2]!) + 6 * passing[at]!) / 16;
  }
}

import { type Fact, known, unknown } from '../../src/facts/fact.ts';
import type { SmallGray } from './small-gray.ts';

/** Side in small px of a cell of the thumbnails that frames are compared by: so coarse that a shaking hand moves little. */
const cellPx = 8;
/** Neighbouring frames that differ by more (0 the same picture, 1 nothing alike, after the best shift) may be a cut. */
const cutChange = 0.25;
/** A cut stands out from the frames around it by this factor; a swung camera changes all of them. */
const standsOut = 2;
/** Mean difference of gray levels below which two frames are the same scene, however dark. */
const minLevels = 8;
/** Standard deviation of gray levels below which a picture is blank. */
const blankLevels = 4;
/** Lengths of cross-fades and fades to a card or to black that are looked for, s. */
const fadesS = [0.4, 0.8, 1.4];
/** A fade's frames are a mix of its first and last; the share of the change that the mix may leave unexplained. */
const maxUnmixed = 0.06;
const mergeS = 0.4;
/** Shorter than this at the start or end is no shot: the last of a wipe, a stray frame of an edit. */
const shortestShotS = 0.3;

type Cut = { timeS: number; confidence: number };

/** Finds where one shot ends and another begins, fades and end cards too. Push every frame; keeps about 600 bytes of each. */
export function createCuts(): {
  push(picture: SmallGray): void;
  /** Times in seconds at which a new shot begins (of a fade: half-way), over the whole clip. Unknown below three frames. */
  facts(): Fact<number[]>;
} {
  const thumbs: Uint8Array[] = [];
  const timesS: number[] = [];
  let [columns, rows] = [0, 0];
  return {
    push(picture) {
      if (columns === 0) [columns, rows] = [Math.floor(picture.widthPx / cellPx), Math.floor(picture.heightPx / cellPx)];
      thumbs.push(thumbOf(picture, columns, rows));
      timesS.push(picture.timeS);
    },
    facts() {
      if (thumbs.length < 3) return unknown('too-few-frames');
      const change = thumbs.map((thumb, i) => (i === 0 ? 0 : changeOf(thumbs[i - 1]!, thumb, columns)));
      const all = [...hardCuts(thumbs, timesS, change, columns), ...fades(thumbs, timesS, columns)];
      all.sort((a, b) => a.timeS - b.timeS);
      const [firstS, lastS] = [timesS[0]! + shortestShotS, timesS.at(-1)! - shortestShotS];
      const cuts = all.filter(
        ({ timeS }, i) => timeS >= firstS && timeS <= lastS && (i === 0 || timeS - all[i - 1]!.timeS > mergeS),
      );
      const confidence = cuts.length > 0 ? Math.min(...cuts.map((cut) => cut.confidence)) : 0.97;
      return known(
        cuts.map(({ timeS }) => timeS),
        { confidence },
      );
    },
  };
}

function hardCuts(thumbs: Uint8Array[], timesS: number[], change: number[], columns: number): Cut[] {
  const cuts: Cut[] = [];
  for (let i = 1; i < thumbs.length; i++) {
    if (change[i]! < cutChange || levelsApart(thumbs[i - 1]!, thumbs[i]!) < minLevels) continue;
    const around = Math.max(...[-3, -2, -1, 1, 2, 3].map((k) => change[i + k] ?? 0));
    const out = change[i]! / (standsOut * Math.max(around, 0.01));
    // a flash is followed by the same scene
    const after = [1, 2, 3].map((k) => thumbs[i + k]).filter((thumb) => thumb !== undefined);
    const stays = Math.min(...after.map((thumb) => changeOf(thumbs[i - 1]!, thumb, columns)), 1);
    if (out < 1 || stays < 0.8 * cutChange) continue;
    cuts.push({ timeS: timesS[i]!, confidence: sure(Math.min(out, stays / (0.8 * cutChange))) });
  }
  return cuts;
}

/** A half at the threshold, 0.95 at 1.6 times as much. A scale chosen, not fitted. */
const sure = (overThreshold: number) => 1 - 0.5 / overThreshold ** 5;

function fades(thumbs: Uint8Array[], timesS: number[], columns: number): Cut[] {
  const found: Cut[] = [];
  for (const lengthS of fadesS) {
    for (let from = 0, to = 0; from < thumbs.length; from++) {
      while (to < thumbs.length && timesS[to]! - timesS[from]! < lengthS) to++;
      if (to >= thumbs.length) break;
      const [first, last] = [thumbs[from]!, thumbs[to]!];
      if (to - from < 4 || levelsApart(first, last) < 2 * minLevels) continue;
      const half = halfWay(thumbs, from, to);
      if (half === null || changeOf(first, last, columns) < 0.6) continue;
      found.push({ timeS: timesS[half]!, confidence: 0.9 });
      from = to;
    }
  }
  return found;
}

/** The frame in which a fade from one picture to another is half done, null where the frames between are no mix of the two. */
function halfWay(thumbs: Uint8Array[], from: number, to: number): number | null {
  const [first, last] = [thumbs[from]!, thumbs[to]!];
  let [before, half, unmixed, whole] = [0, -1, 0, 0];
  for (let i = 0; i < first.length; i++) whole += (last[i]! - first[i]!) ** 2;
  let between = 0;
  for (let at = from + 1; at < to; at++) {
    const thumb = thumbs[at]!;
    let [along, own] = [0, 0];
    for (let i = 0; i < first.length; i++) {
      const step = thumb[i]! - first[i]!;
      along += step * (last[i]! - first[i]!);
      own += step * step;
    }
    const share = along / whole;
    if (share < before - 0.05 || share > 1.05) return null;
    if (share > 0.08 && share < 0.92) between++;
    unmixed = Math.max(unmixed, own / whole - share * share);
    if (half < 0 && share >= 0.5) half = at;
    before = Math.max(before, share);
  }
  return unmixed > maxUnmixed || between < 3 || half < 0 ? null : half;
}

function thumbOf({ data, widthPx }: SmallGray, columns: number, rows: number): Uint8Array {
  const thumb = new Uint8Array(columns * rows);
  for (let row = 0, to = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, to++) {
      let sum = 0;
      for (let y = 0; y < cellPx; y += 2) {
        const start = (row * cellPx + y) * widthPx + column * cellPx;
        for (let x = 0; x < cellPx; x++) sum += data[start + x]!;
      }
      thumb[to] = (2 * sum) / (cellPx * cellPx);
    }
  }
  return thumb;
}

function levelsApart(a: Uint8Array, b: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += Math.abs(a[i]! - b[i]!);
  return sum / a.length;
}

/** 0: the same scene, brighter, darker or moved by some cells; 1: nothing alike. */
function changeOf(a: Uint8Array, b: Uint8Array, columns: number): number {
  let best = alikeAt(a, b, columns, 0, 0);
  if (best > 0.85) return 1 - best;
  for (let dy = -3; dy <= 3; dy++) {
    for (let dx = -4; dx <= 4; dx++) best = Math.max(best, alikeAt(a, b, columns, dx, dy));
  }
  return 1 - best;
}

/** Correlation of the part in which a, and b moved by some cells, overlap, 0..1. */
function alikeAt(a: Uint8Array, b: Uint8Array, columns: number, dx: number, dy: number): number {
  const rows = a.length / columns;
  const [x0, x1] = [Math.max(0, -dx), Math.min(columns, columns - dx)];
  let [n, sumA, sumB, squaresA, squaresB, products] = [0, 0, 0, 0, 0, 0];
  for (let y = Math.max(0, -dy); y < Math.min(rows, rows - dy); y++) {
    for (let x = x0; x < x1; x++, n++) {
      const [p, q] = [a[y * columns + x]!, b[(y + dy) * columns + x + dx]!];
      sumA += p;
      sumB += q;
      squaresA += p * p;
      squaresB += q * q;
      products += p * q;
    }
  }
  const spreadA = squaresA / n - (sumA / n) ** 2;
  const spreadB = squaresB / n - (sumB / n) ** 2;
  const [blankA, blankB] = [spreadA < blankLevels ** 2, spreadB < blankLevels ** 2];
  if (blankA && blankB) return Math.abs(sumA - sumB) / n < 4 * minLevels ? 1 : 0;
  if (blankA || blankB) return 0;
  return Math.max(0, (products / n - (sumA / n) * (sumB / n)) / Math.sqrt(spreadA * spreadB));
}

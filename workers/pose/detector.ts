import type { Detection, Point, Region, RgbImage } from './types.ts';

/** Side of the detector's input, pixels (the model's own shape). */
export const detectorSide = 224;

/** Numbers per candidate: centre x, y, width, height, then four points of which the first two are hip and top. */
const candidateWidth = 12;

/** A region is this much longer than the circle around the body is wide (BlazePose's value). */
const regionMargin = 1.25;

/** Candidates that overlap more than this are the same person (BlazePose's value). */
const sameOverlap = 0.3;

/** Anchor centres 0..1 in the order of the candidates: grids of 28, 14 and 7 cells with 2, 2 and 6 anchors a cell (strides 8, 16, 32). */
const anchors: readonly Point[] = [
  { cells: 28, each: 2 },
  { cells: 14, each: 2 },
  { cells: 7, each: 6 },
].flatMap(({ cells, each }) =>
  Array.from({ length: cells * cells * each }, (_, i) => {
    const cell = Math.floor(i / each);
    return { x: ((cell % cells) + 0.5) / cells, y: (Math.floor(cell / cells) + 0.5) / cells };
  }),
);

/** The square around a whole picture, upright: what the detector looks at when no other region is asked for. */
export function wholePicture(image: RgbImage): Region {
  return { cx: image.widthPx / 2, cy: image.heightPx / 2, sidePx: Math.max(image.widthPx, image.heightPx), angleRad: 0 };
}

/**
 * Turns the detector's raw output into people, best first: every candidate above `threshold` (0..1), overlapping ones joined by their
 * mean weighted by score. `boxes` is `[2254][12]` in pixels of the input, `scores` are logits; `seen` is the region that was shown.
 */
export function decodeDetections(boxes: Float32Array, scores: Float32Array, threshold: number, seen: Region): Detection[] {
  const logit = Math.log(threshold / (1 - threshold));
  const candidates: Candidate[] = [];
  for (let i = 0; i < anchors.length; i++) {
    if (scores[i]! < logit) continue;
    const anchor = anchors[i]!;
    const at = (k: number) => boxes[i * candidateWidth + k]! / detectorSide;
    const numbers = [
      at(0) + anchor.x,
      at(1) + anchor.y,
      at(2),
      at(3),
      at(4) + anchor.x,
      at(5) + anchor.y,
      at(6) + anchor.x,
      at(7) + anchor.y,
    ];
    candidates.push({ score: 1 / (1 + Math.exp(-scores[i]!)), numbers });
  }
  return joinOverlapping(candidates).map((candidate) => toDetection(candidate, seen));
}

/** `numbers`: centre x, y, width, height, hip x, y, top x, y; 0..1 of the region shown. */
type Candidate = { score: number; numbers: number[] };

function joinOverlapping(candidates: Candidate[]): Candidate[] {
  const rest = candidates.toSorted((a, b) => b.score - a.score);
  const joined: Candidate[] = [];
  while (rest.length > 0) {
    const best = rest[0]!;
    const group = rest.filter((other) => other === best || overlap(best.numbers, other.numbers) > sameOverlap);
    const weight = group.reduce((sum, other) => sum + other.score, 0);
    const numbers = best.numbers.map((_, k) => group.reduce((sum, other) => sum + other.numbers[k]! * other.score, 0) / weight);
    joined.push({ score: best.score, numbers });
    for (const other of group) rest.splice(rest.indexOf(other), 1);
  }
  return joined;
}

/** Intersection over union of two boxes given as centre x, y, width, height. */
function overlap(a: number[], b: number[]): number {
  const side = (k: 0 | 1) =>
    Math.min(a[k]! + a[k + 2]! / 2, b[k]! + b[k + 2]! / 2) - Math.max(a[k]! - a[k + 2]! / 2, b[k]! - b[k + 2]! / 2);
  const common = Math.max(0, side(0)) * Math.max(0, side(1));
  return common / (a[2]! * a[3]! + b[2]! * b[3]! - common);
}

function toDetection({ score, numbers }: Candidate, seen: Region): Detection {
  const [cx, cy, width, height, hipX, hipY, topX, topY] = numbers as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const corners = [-0.5, 0.5].flatMap((v) => [-0.5, 0.5].map((u) => toPicture({ x: cx + u * width, y: cy + v * height }, seen)));
  const x = Math.min(...corners.map((c) => c.x));
  const y = Math.min(...corners.map((c) => c.y));
  const hip = toPicture({ x: hipX, y: hipY }, seen);
  const top = toPicture({ x: topX, y: topY }, seen);
  return {
    score,
    box: { x, y, widthPx: Math.max(...corners.map((c) => c.x)) - x, heightPx: Math.max(...corners.map((c) => c.y)) - y },
    hip,
    top,
    region: regionAround(hip, top),
  };
}

/** Maps a point 0..1 of a region to picture pixels. */
export function toPicture(point: Point, region: Region): Point {
  const u = (point.x - 0.5) * region.sidePx;
  const v = (point.y - 0.5) * region.sidePx;
  const cos = Math.cos(region.angleRad);
  const sin = Math.sin(region.angleRad);
  return { x: region.cx + u * cos - v * sin, y: region.cy + u * sin + v * cos };
}

/** The region of a person whose body fits a circle around the hip through `top`, turned so that hip to top points up. */
export function regionAround(hip: Point, top: Point): Region {
  const dx = top.x - hip.x;
  const dy = top.y - hip.y;
  return { cx: hip.x, cy: hip.y, sidePx: 2 * Math.hypot(dx, dy) * regionMargin, angleRad: Math.atan2(dx, -dy) };
}

import { joint, type Pose, pointWidth } from '../pose/types.ts';
import { pxPerMetre } from './course.ts';
import { quantile } from './series.ts';
import type { SmallGray } from './small-gray.ts';
import type { CameraStep } from './steadiness.ts';

/** How far what moves most around a person's hands (bar, plates, hands) went up from one frame to the next, picture pixels; down is negative. */
export interface FlowStep {
  personId: number;
  fromS: number;
  toS: number;
  upPx: number;
}

/** Side of a patch, its step along the picture, px of the small gray picture. */
const side = 12;
const stepPx = 8;
const area = side * side;
/** The place looked at reaches this far around the wrists, metres. */
const reach = { acrossM: 0.3, upM: 0.25 };
/** Fastest bar looked for, m/s: above what any of the lifts reaches (common practice). */
const fastestMps = 2.4;
/** Gray levels a pixel: least vertical edge of a patch, difference below which it has not moved, and above which it is not the same thing. */
const levels = { edge: 3, still: 1.5, lost: 14 };
const leastPatches = 4;
/** The bar is among what moves most: hands, bar and plates move alike, forearms less, what is behind not at all. */
const most = 0.9;

/**
 * Follows patches around the hands of the main person from frame to frame, so that a bar's way is seen where plates hide the wrists from the
 * pose model. Push every frame in order, with the main person as seen in it. Keeps one number a frame.
 */
export function createBarFlow(): {
  push(picture: SmallGray, main: { id: number; pose: Pose } | undefined): void;
  path(): FlowStep[];
} {
  const steps: FlowStep[] = [];
  let before: { data: Uint8Array; widthPx: number; timeS: number; main: { id: number; pose: Pose } | undefined } | null = null;
  return {
    push(picture, main) {
      const { widthPx, data, timeS } = picture;
      if (before?.main !== undefined && before.widthPx === widthPx && before.data.length === data.length) {
        const upPx = mostMoved(before.data, picture, before.main.pose, timeS - before.timeS);
        if (upPx !== null) steps.push({ personId: before.main.id, fromS: before.timeS, toS: timeS, upPx: upPx * picture.shrink });
      }
      const room = before?.data.length === data.length ? before.data : new Uint8Array(data.length);
      room.set(data);
      before = { data: room, widthPx, timeS, main };
    },
    path: () => steps,
  };
}

/** The flow as a still camera would have seen it: with the camera's own movement taken off. */
export function stilledFlow(flow: readonly FlowStep[], path: readonly CameraStep[], widthPx: number): FlowStep[] {
  const cameraPx = new Map(path.map((step) => [step.timeS, step.dyShare * widthPx]));
  return flow.map((step) => {
    const [before, after] = [cameraPx.get(step.fromS), cameraPx.get(step.toS)];
    return before === undefined || after === undefined ? step : { ...step, upPx: step.upPx + after - before };
  });
}

/** How far up the patches around the hands that move most have moved, px of the small picture; null when too few can be followed. */
function mostMoved(before: Uint8Array, now: SmallGray, pose: Pose, overS: number): number | null {
  const { widthPx, heightPx, shrink } = now;
  const pxPerM = pxPerMetre(pose) / shrink;
  const at = (row: number, axis: 0 | 1) => pose.points[row * pointWidth + axis]! / shrink;
  const span = (axis: 0 | 1, more: number, last: number) => {
    const [a, b] = [at(joint.wristL, axis), at(joint.wristR, axis)];
    return [
      Math.max(1, Math.round(Math.min(a, b) - more * pxPerM - side / 2)),
      Math.min(last - side - 1, Math.max(a, b) + more * pxPerM - side / 2),
    ] as const;
  };
  const [fromX, toX] = span(0, reach.acrossM, widthPx);
  const [fromY, toY] = span(1, reach.upM, heightPx);
  const reachPx = Math.ceil(fastestMps * pxPerM * overS);
  const ups: number[] = [];
  for (let y = fromY; y <= toY; y += stepPx) {
    for (let x = fromX; x <= toX; x += stepPx) {
      const up = edgeOf(before, widthPx, x, y) < levels.edge ? null : moved(before, now, x, y, reachPx);
      if (up !== null) ups.push(up);
    }
  }
  if (ups.length < leastPatches) return null;
  const [low, high] = [quantile(ups, 1 - most), quantile(ups, most)];
  return Math.abs(low) > Math.abs(high) ? low : high;
}

/** Mean change of gray level from row to row in a patch. */
function edgeOf(data: Uint8Array, widthPx: number, x: number, y: number): number {
  let sum = 0;
  for (let row = 1; row < side; row++) {
    for (let at = (y + row) * widthPx + x, end = at + side; at < end; at++) sum += Math.abs(data[at]! - data[at - widthPx]!);
  }
  return sum / (side * (side - 1));
}

/** How far up a patch has moved, to a fraction of a pixel, at most `reachPx` either way and one px aside; null when it is not found again. */
function moved(before: Uint8Array, now: SmallGray, x: number, y: number, reachPx: number): number | null {
  const { data, widthPx, heightPx } = now;
  const start = y * widthPx + x;
  let best = difference(before, data, widthPx, start, start, Number.POSITIVE_INFINITY);
  if (best < levels.still * area) return 0;
  let [bestX, bestY] = [0, 0];
  for (let k = 0; k <= 2 * reachPx; k++) {
    const dy = k % 2 === 0 ? k / 2 : -(k + 1) / 2; // nearest first, so that most searches stop early
    if (y + dy < 1 || y + dy + side >= heightPx) continue;
    for (let dx = -1; dx <= 1; dx++) {
      const sum = difference(before, data, widthPx, start, start + dy * widthPx + dx, best);
      if (sum < best) [best, bestX, bestY] = [sum, dx, dy];
    }
  }
  if (best > levels.lost * area || Math.abs(bestY) === reachPx) return null;
  const there = start + bestY * widthPx + bestX;
  const above = difference(before, data, widthPx, start, there - widthPx, Number.POSITIVE_INFINITY);
  const below = difference(before, data, widthPx, start, there + widthPx, Number.POSITIVE_INFINITY);
  const bend = above - 2 * best + below;
  return -(bestY + (bend > 0 ? Math.max(-0.5, Math.min(0.5, (above - below) / (2 * bend))) : 0));
}

/** Sum of absolute differences between a patch of one picture and one of another; stops where it passes `enough`. */
function difference(a: Uint8Array, b: Uint8Array, widthPx: number, fromA: number, fromB: number, enough: number): number {
  let sum = 0;
  for (let row = 0; row < side && sum < enough; row++) {
    const shift = fromB - fromA;
    for (let at = fromA + row * widthPx, end = at + side; at < end; at++) sum += Math.abs(a[at]! - b[at + shift]!);
  }
  return sum;
}

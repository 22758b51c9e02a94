import { polygonHull } from 'd3-polygon';
import type { BarEnd } from './bar-in-view.ts';

/** How thick a stack of plates may be, m: chosen. */
const stacksM = [0.05, 0.1, 0.16];
/** Points around an outline, and the change of level over two pixels from which one counts fully; what changes the other way speaks against it. Chosen. */
const outline = { points: 40, levels: 8, otherWay: 0.5 };
/** The least change of level at an edge; beside it, so many pixels across, changes are smaller: they count less, by this power of how much smaller. Chosen. */
const [leastEdge, besideEdge, thinner] = [1, 2, 2];
/** A neighbouring place counts less by this for each pixel squared: chosen. */
const besides = 0.01;

/** Points around the outline of a stack of plates, and what points outwards there, px of a patch, from the middle of the first plate. */
export type Outline = readonly { x: number; y: number; outX: number; outY: number }[];

/** The outlines of thin and thick stacks of plates at an end of a bar, in a patch with such a step of the picture. */
export const outlinesOf = (end: BarEnd, stepPx: number): Outline[] => stacksM.map((stackM) => outlineOf(end, stackM, stepPx));

function outlineOf({ middle, edge }: BarEnd, stackM: number, stepPx: number): Outline {
  const around = Array.from({ length: 32 }, (_, i) => (2 * Math.PI * i) / 32);
  const points = [0, stackM].flatMap((outsideM) =>
    around.map((rad): [number, number] => {
      const { x, y } = edge(outsideM, rad);
      return [(x - middle.x) / stepPx, (y - middle.y) / stepPx];
    }),
  );
  const hull = polygonHull(points) ?? [];
  const sides = hull.map((from, i) => {
    const to = hull[(i + 1) % hull.length]!;
    return { from, to, length: Math.hypot(to[0] - from[0], to[1] - from[1]) };
  });
  const all = sides.reduce((sum, { length }) => sum + length, 0);
  let [at, passed] = [0, 0];
  return Array.from({ length: sides.length === 0 ? 0 : outline.points }, (_, i) => {
    const along = (i * all) / outline.points;
    while (passed + sides[at]!.length < along) passed += sides[at++]!.length;
    const { from, to, length } = sides[at]!;
    const [alongX, alongY] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    // the hull runs counterclockwise where y points down
    return { x: from[0] + (along - passed) * alongX, y: from[1] + (along - passed) * alongY, outX: -alongY, outY: alongX };
  });
}

/** Change of level from left to right and from above to below at each pixel of a patch, over two pixels; 0 where something is not seen. */
export type Changes = { across: Float32Array; down: Float32Array };

/** The changes of a patch at its edges, however much the edges are blurred: less of those that are less than one beside them, across the edge. */
export function edgesIn(patch: Float32Array, side: number): Changes {
  const across = new Float32Array(patch.length);
  const down = new Float32Array(patch.length);
  const size = new Float32Array(patch.length);
  for (let at = side; at < patch.length - side; at++) {
    across[at] = patch[at + 1]! - patch[at - 1]! || 0;
    down[at] = patch[at + side]! - patch[at - side]! || 0;
    size[at] = Math.hypot(across[at]!, down[at]!);
  }
  const thin = size.map((here, at) => {
    if (here < leastEdge) return 0;
    const step = Math.round(across[at]! / here) + side * Math.round(down[at]! / here);
    let most = here;
    for (let i = -besideEdge; i <= besideEdge; i++) most = Math.max(most, size[at + i * step] ?? 0);
    return (here / most) ** thinner;
  });
  return { across: across.map((v, at) => v * thin[at]!), down: down.map((v, at) => v * thin[at]!) };
}

/**
 * How much of one of some outlines is an edge in a patch, 0..1, for each place of its middle up to `reachPx` from the patch's: changes of level across
 * it, all the same way, for a stack of plates is darker or lighter than what is around it. `[2 reachPx + 1][2 reachPx + 1]`, each place as good as
 * one beside it is, a little less: the stack need not stand to the pixel where a bar says.
 */
export function sharesOf(changes: Changes, side: number, outlines: readonly Outline[], reachPx: number): Float32Array {
  const reach = 2 * reachPx + 1;
  const shares = new Float32Array(reach * reach);
  for (const points of outlines) {
    const { lighter, darker } = edgesOf(changes, side, points, reachPx);
    for (let at = 0; at < shares.length; at++) {
      const [a, b] = [lighter[at]!, darker[at]!];
      shares[at] = Math.max(shares[at]!, (Math.max(a, b) - outline.otherWay * Math.min(a, b)) / points.length);
    }
  }
  const best = new Float32Array(reach * reach);
  for (let y = 1; y < reach - 1; y++)
    for (let x = 1; x < reach - 1; x++) {
      const at = y * reach + x;
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++)
          best[at] = Math.max(best[at]!, shares[at + dy * reach + dx]! - besides * (dx * dx + dy * dy));
    }
  return best;
}

/** How many of an outline's points have a lighter, or a darker, outside, for each place of its middle. */
function edgesOf({ across, down }: Changes, side: number, points: Outline, reachPx: number) {
  const reach = 2 * reachPx + 1;
  const [lighter, darker] = [new Float32Array(reach * reach), new Float32Array(reach * reach)];
  for (const { x, y, outX, outY } of points) {
    const [left, top] = [Math.round(side / 2 + x) - reachPx, Math.round(side / 2 + y) - reachPx];
    const [byX, byY] = [outX / outline.levels, outY / outline.levels];
    const [firstX, endX] = [Math.max(0, 1 - left), Math.min(reach, side - 1 - left)];
    for (let v = Math.max(0, 1 - top), endY = Math.min(reach, side - 1 - top); v < endY; v++) {
      for (let u = firstX, at = v * reach + firstX, from = (top + v) * side + left + firstX; u < endX; u++, at++, from++) {
        const change = across[from]! * byX + down[from]! * byY;
        if (change > 0) lighter[at]! += Math.min(1, change);
        else darker[at]! += Math.min(1, -change);
      }
    }
  }
  return { lighter, darker };
}

import type { Box, SmallGray } from './small-gray.ts';

/** Side of a block in px of the small gray picture. */
export const blockSide = 16;
const area = blockSide * blockSide;
/** Places for blocks across and down the picture, and blocks at most: spread over the picture, cheap enough for every frame. */
const [columns, rows, maxBlocks] = [4, 4, 14];
/** Mean squared gradient in a block's weakest direction below which its place cannot be told, gray levels squared. */
const minTexture = 2;
/** A match whose difference is more than this share of the block's own contrast is of something else. */
const maxResidue = 0.35;
/** Steps of the fine search; it has settled long before. */
const maxRounds = 10;
/** How far the coarse search looks around the last place, px; its step, px. */
const reachPx = 32;
const stepPx = 2;

/** Blocks of one picture that later pictures are matched against. Arrays have one entry a block. */
export type Blocks = {
  count: number;
  /** Upper left corners in the picture they were taken from, px. */
  x: Int16Array;
  y: Int16Array;
  /** Where each was last seen, px from its first place. Written by {@link matchBlocks}. */
  shiftX: Float64Array;
  shiftY: Float64Array;
  /** 1 where the last match holds. */
  matched: Uint8Array;
  luma: Float32Array;
  gradX: Float32Array;
  gradY: Float32Array;
  /** Inverse of the gradients' second moments: xx, xy, yy. */
  inverse: Float64Array;
  contrast: Float64Array;
};

/** Room for the blocks of one clip, used again for every picture that blocks are taken from. */
export function createBlocks(): Blocks {
  return {
    count: 0,
    x: new Int16Array(maxBlocks),
    y: new Int16Array(maxBlocks),
    shiftX: new Float64Array(maxBlocks),
    shiftY: new Float64Array(maxBlocks),
    matched: new Uint8Array(maxBlocks),
    luma: new Float32Array(maxBlocks * area),
    gradX: new Float32Array(maxBlocks * area),
    gradY: new Float32Array(maxBlocks * area),
    inverse: new Float64Array(maxBlocks * 3),
    contrast: new Float64Array(maxBlocks),
  };
}

/** Whether a block at this place of the small picture touches a person. */
export function onPerson(x: number, y: number, people: readonly Box[], shrink: number): boolean {
  return people.some(
    (box) =>
      (x + blockSide) * shrink > box.x &&
      x * shrink < box.x + box.widthPx &&
      (y + blockSide) * shrink > box.y &&
      y * shrink < box.y + box.heightPx,
  );
}

/** Chooses the block with most texture (in its weakest direction) in each cell of a grid, away from people. */
export function takeBlocks(blocks: Blocks, { data, widthPx, heightPx, shrink }: SmallGray, people: readonly Box[]): void {
  const found: { x: number; y: number; texture: number }[] = [];
  const [cellW, cellH] = [(widthPx - 4) / columns, (heightPx - 4) / rows];
  for (let cell = 0; cell < columns * rows; cell++) {
    const [fromX, fromY] = [2 + (cell % columns) * cellW, 2 + Math.floor(cell / columns) * cellH];
    let best: { x: number; y: number; texture: number } | null = null;
    for (let y = Math.ceil(fromY); y + blockSide <= fromY + cellH; y += 4) {
      for (let x = Math.ceil(fromX); x + blockSide <= fromX + cellW; x += 4) {
        const texture = textureAt(data, widthPx, x, y);
        if (texture < minTexture || (best && texture <= best.texture) || onPerson(x, y, people, shrink)) continue;
        best = { x, y, texture };
      }
    }
    if (best) found.push(best);
  }
  found.sort((a, b) => b.texture - a.texture);
  blocks.count = Math.min(maxBlocks, found.length);
  for (let b = 0; b < blocks.count; b++) takeBlock(blocks, b, data, widthPx, found[b]!.x, found[b]!.y);
}

/** Smaller eigenvalue of the gradients' second moments per pixel, on every second pixel of every second row. */
function textureAt(data: Uint8Array, widthPx: number, x0: number, y0: number): number {
  let [xx, xy, yy] = [0, 0, 0];
  for (let y = y0; y < y0 + blockSide; y += 2) {
    for (let at = y * widthPx + x0; at < y * widthPx + x0 + blockSide; at += 2) {
      const gx = (data[at + 1]! - data[at - 1]!) / 2;
      const gy = (data[at + widthPx]! - data[at - widthPx]!) / 2;
      xx += gx * gx;
      xy += gx * gy;
      yy += gy * gy;
    }
  }
  const [mean, half] = [(xx + yy) / 2, (xx - yy) / 2];
  return (mean - Math.sqrt(half * half + xy * xy)) / (area / 4);
}

function takeBlock(blocks: Blocks, b: number, data: Uint8Array, widthPx: number, x0: number, y0: number): void {
  const { luma, gradX, gradY, inverse } = blocks;
  blocks.x[b] = x0;
  blocks.y[b] = y0;
  blocks.shiftX[b] = 0;
  blocks.shiftY[b] = 0;
  blocks.matched[b] = 1;
  let [mean, meanX, meanY] = [0, 0, 0];
  for (let i = 0; i < area; i++) {
    const at = (y0 + (i >> 4)) * widthPx + x0 + (i & 15);
    const to = b * area + i;
    luma[to] = data[at]!;
    gradX[to] = (data[at + 1]! - data[at - 1]!) / 2;
    gradY[to] = (data[at + widthPx]! - data[at - widthPx]!) / 2;
    mean += luma[to]!;
    meanX += gradX[to]!;
    meanY += gradY[to]!;
  }
  let [xx, xy, yy, contrast] = [1e-6, 0, 1e-6, 0];
  // without their means, so that brighter or darker light moves nothing
  for (let i = b * area; i < (b + 1) * area; i++) {
    luma[i] = luma[i]! - mean / area;
    const gx = gradX[i]! - meanX / area;
    const gy = gradY[i]! - meanY / area;
    gradX[i] = gx;
    gradY[i] = gy;
    xx += gx * gx;
    xy += gx * gy;
    yy += gy * gy;
    contrast += luma[i]! * luma[i]!;
  }
  const det = xx * yy - xy * xy;
  inverse[3 * b] = yy / det;
  inverse[3 * b + 1] = -xy / det;
  inverse[3 * b + 2] = xx / det;
  blocks.contrast[b] = contrast;
}

/**
 * Finds each block in a later picture, from where it was last seen, to a fraction of a pixel (inverse compositional least squares:
 * Baker and Matthews, IJCV 56(3), 2004). Gives how many were found; the others keep their last place.
 */
export function matchBlocks(blocks: Blocks, picture: SmallGray): number {
  let found = 0;
  for (let b = 0; b < blocks.count; b++) {
    blocks.matched[b] = matchBlock(blocks, b, picture) ? 1 : 0;
    found += blocks.matched[b]!;
  }
  return found;
}

const patch = new Float32Array(area);

function matchBlock(blocks: Blocks, b: number, { data, widthPx, heightPx }: SmallGray): boolean {
  const { luma, gradX, gradY, inverse } = blocks;
  let [sx, sy] = [blocks.shiftX[b]!, blocks.shiftY[b]!];
  for (let round = 0; round < maxRounds; round++) {
    const [x, y] = [blocks.x[b]! + sx, blocks.y[b]! + sy];
    if (!(x >= 0 && y >= 0 && x + blockSide < widthPx && y + blockSide < heightPx)) return false;
    const [x0, y0] = [Math.floor(x), Math.floor(y)];
    const [fx, fy] = [x - x0, y - y0];
    const [w00, w10, w01, w11] = [(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy];
    let mean = 0;
    for (let row = 0, i = 0; row < blockSide; row++) {
      for (let at = (y0 + row) * widthPx + x0, end = at + blockSide; at < end; at++, i++) {
        const value = w00 * data[at]! + w10 * data[at + 1]! + w01 * data[at + widthPx]! + w11 * data[at + widthPx + 1]!;
        patch[i] = value;
        mean += value;
      }
    }
    mean /= area;
    let [ex, ey, residue] = [0, 0, 0];
    for (let i = 0, at = b * area; i < area; i++, at++) {
      const e = patch[i]! - mean - luma[at]!;
      ex += gradX[at]! * e;
      ey += gradY[at]! * e;
      residue += e * e;
    }
    const dx = inverse[3 * b]! * ex + inverse[3 * b + 1]! * ey;
    const dy = inverse[3 * b + 1]! * ex + inverse[3 * b + 2]! * ey;
    if (dx * dx + dy * dy < 4e-4) {
      if (residue > maxResidue * blocks.contrast[b]!) return false;
      blocks.shiftX[b] = sx - dx;
      blocks.shiftY[b] = sy - dy;
      return true;
    }
    const tooFar = Math.max(1, Math.abs(dx) / 3, Math.abs(dy) / 3);
    sx -= dx / tooFar;
    sy -= dy / tooFar;
  }
  return false;
}

/** Moves all blocks by the whole-pixel shift, within 32 px, at which most of them look alike: a start for {@link matchBlocks} after a jerk. */
export function searchBlocks(blocks: Blocks, { data, widthPx, heightPx }: SmallGray): void {
  let [best, bestX, bestY] = [Number.POSITIVE_INFINITY, 0, 0];
  for (let dy = -reachPx; dy <= reachPx; dy += stepPx) {
    for (let dx = -reachPx; dx <= reachPx; dx += stepPx) {
      let [cost, counted] = [0, 0];
      for (let b = 0; b < blocks.count; b++) {
        const [x, y] = [Math.round(blocks.x[b]! + blocks.shiftX[b]!) + dx, Math.round(blocks.y[b]! + blocks.shiftY[b]!) + dy];
        if (x < 0 || y < 0 || x + blockSide > widthPx || y + blockSide > heightPx) continue;
        counted++;
        cost += Math.min(1, unlikeness(blocks, b, data, y * widthPx + x, widthPx));
        if (cost > best * counted + blocks.count) break;
      }
      if (counted < blocks.count / 2 || cost / counted >= best) continue;
      [best, bestX, bestY] = [cost / counted, dx, dy];
    }
  }
  for (let b = 0; b < blocks.count; b++) {
    blocks.shiftX[b] = blocks.shiftX[b]! + bestX;
    blocks.shiftY[b] = blocks.shiftY[b]! + bestY;
  }
}

/** Squared difference to a block without their means, on each fourth pixel both ways, 1: as much as the block's contrast. */
function unlikeness(blocks: Blocks, b: number, data: Uint8Array, start: number, widthPx: number): number {
  let [sum, squares, n] = [0, 0, 0];
  for (let row = 1; row < blockSide; row += 4) {
    for (let column = 1; column < blockSide; column += 4, n++) {
      const e = data[start + row * widthPx + column]! - blocks.luma[b * area + row * blockSide + column]!;
      sum += e;
      squares += e * e;
    }
  }
  return ((squares - (sum * sum) / n) * (area / n)) / (blocks.contrast[b]! + 1);
}

import { expect, it } from 'vitest';
import { edgesIn, outlinesOf, sharesOf } from '../../workers/stages/outlines.ts';
import { patchOf, steadyMean } from '../../workers/stages/steady-mean.ts';
import { createRandom, createTexture } from './scene.ts';

const side = 128;
const wall = createTexture(3);
const random = createRandom(9);
const shifts = Array.from({ length: 12 }, () => [Math.round(10 * random() - 5), Math.round(10 * random() - 5)] as const);
/** Patches of a disc, 30 levels, which stands elsewhere in each, as the wall behind it does. */
const patches = (radius: number) =>
  shifts.map(([dx, dy], i) =>
    Float32Array.from({ length: side * side }, (_, at) => {
      const [x, y] = [at % side, Math.floor(at / side)];
      return Math.hypot(x - side / 2 - dx, y - side / 2 - dy) < radius ? 30 : 90 + wall(x + 40 * i, y + 25 * i) / 3;
    }),
  );
/** The mean level so far from where the disc is most often. */
const levelAt = (of: Float32Array, px: number) => {
  const [x, y] = [0, 1].map((axis) => side / 2 + [...shifts].map((shift) => shift[axis]!).sort((a, b) => a - b)[6]!) as [
    number,
    number,
  ];
  const around = Array.from({ length: 60 }, (_, i) => (i / 60) * 2 * Math.PI);
  const levels = around.map((rad) => of[Math.round(y + px * Math.sin(rad)) * side + Math.round(x + px * Math.cos(rad))]!);
  return levels.reduce((sum, level) => sum + level / levels.length, 0);
};
const spreadOf = (values: number[]) => {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length);
};

it('keeps what moves sharp and blurs what is behind', () => {
  const some = patches(24);
  const mean = steadyMean(some, side);
  const plain = mean.map((_, at) => some.reduce((sum, patch) => sum + patch[at]! / some.length, 0));
  // how much darker it is inside of the edge than outside, all around
  const edge = (of: Float32Array) => levelAt(of, 26) - levelAt(of, 22);
  expect(edge(mean)).toBeGreaterThan(1.4 * edge(plain));
  const behind = (of: Float32Array) =>
    [...of].filter((level, at) => !Number.isNaN(level) && Math.hypot((at % side) - 64, Math.floor(at / side) - 64) > 36);
  expect(spreadOf(behind(mean))).toBeLessThan(0.5 * spreadOf(behind(some[0]!)));
});

it('leaves out a patch that shows something else, and tells nothing where too few see something', () => {
  const some = patches(24);
  some[3] = Float32Array.from({ length: side * side }, (_, at) => (at % 7 < 3 ? 250 : 5));
  for (const patch of some) patch.fill(Number.NaN, 0, 10 * side);
  const mean = steadyMean(some, side);
  expect(mean[64 * side + 64]).toBeCloseTo(30, 3);
  expect(mean[2 * side + 64]).toBeNaN();
});

it('cuts a patch out of a turned crop where the picture has it', () => {
  // a crop of 256 px of the picture around (300, 200), turned by a quarter: the picture's right is up in it
  const crop = new Uint8Array(256 * 256 * 3);
  for (let y = 0; y < 256; y++) for (let x = 0; x < 256; x++) crop.fill(255 - y, 3 * (y * 256 + x), 3 * (y * 256 + x) + 3);
  const region = { cx: 300, cy: 200, sidePx: 256, angleRad: Math.PI / 2 };
  const patch = patchOf({ region, crop }, { x: 310, y: 200 }, { sidePx: 20, stepPx: 1 });
  // levels rise to the right of the picture by one a pixel
  expect(patch[10 * 20 + 11]! - patch[10 * 20 + 10]!).toBeCloseTo(1, 3);
  expect(patch[11 * 20 + 10]! - patch[10 * 20 + 10]!).toBeCloseTo(0, 3);
  expect(patchOf({ region, crop }, { x: 500, y: 200 }, { sidePx: 20, stepPx: 1 }).every(Number.isNaN)).toBe(true);
});

/** A stack of plates of such a radius seen square on, px of the patch. */
const stack = (radius: number) =>
  outlinesOf(
    { middle: { x: 0, y: 0 }, radiusPx: radius, edge: (_, rad) => ({ x: radius * Math.cos(rad), y: -radius * Math.sin(rad) }) },
    1,
  );

it('goes around a stack of plates, outwards', () => {
  for (const outline of stack(24)) {
    expect(outline).toHaveLength(40);
    for (const { x, y, outX, outY } of outline) {
      expect(Math.hypot(x, y)).toBeGreaterThan(23.8);
      expect((x * outX + y * outY) / Math.hypot(x, y)).toBeGreaterThan(0.99);
    }
  }
});

it.each([
  ['darker', 30, 120],
  ['lighter', 220, 120],
])(
  'sees an outline where a disc of its size stands that is %s than what is around it, and less of another size',
  (_, disc, around) => {
    const patch = Float32Array.from({ length: side * side }, (_, at) =>
      Math.hypot((at % side) - 64 - 7, Math.floor(at / side) - 64 + 4) < 24 ? disc : around,
    );
    const best = (radius: number) => {
      const shares = sharesOf(edgesIn(patch, side), side, stack(radius), 12);
      const at = shares.indexOf(Math.max(...shares));
      return { share: shares[at]!, dx: (at % 25) - 12, dy: Math.floor(at / 25) - 12 };
    };
    const { share, dx, dy } = best(24);
    expect(share).toBeGreaterThan(0.9);
    expect(Math.hypot(dx - 7, dy + 4)).toBeLessThan(1.5);
    expect(best(19).share).toBeLessThan(0.6);
    expect(best(29).share).toBeLessThan(0.6);
  },
);

import { describe, expect, it } from 'vitest';
import { densify, halfToFloat } from '../../workers/pose/tflite.ts';

describe('float16 weights', () => {
  // Bit patterns of IEEE 754 binary16, from memory: one, the largest, the smallest, the nearest to a third.
  it.each([
    [0x3c00, 1],
    [0xc000, -2],
    [0x7bff, 65504],
    [0x0001, 2 ** -24],
    [0x3555, 0.333251953125],
    [0x7c00, Number.POSITIVE_INFINITY],
    [0x7e00, Number.NaN],
  ])('%i', (bits, value) => {
    expect(halfToFloat(bits)).toBe(value);
  });
});

describe('sparse weights', () => {
  it('puts the stored values of each row in their columns', () => {
    const levels = [
      { kind: 'dense' as const, size: 3 },
      { kind: 'sparse' as const, segments: [0, 2, 2, 3], indices: [0, 3, 1] },
    ];
    const dense = densify(Float32Array.of(5, 6, 7), [3, 4], { traversalOrder: [0, 1], blockMap: [], levels });
    expect([...dense]).toEqual([5, 0, 0, 6, 0, 0, 0, 0, 0, 7, 0, 0]);
  });

  it('lays out blocks of two rows', () => {
    const levels = [
      { kind: 'dense' as const, size: 2 },
      { kind: 'sparse' as const, segments: [0, 1, 2], indices: [2, 0] },
      { kind: 'dense' as const, size: 2 },
    ];
    const dense = densify(Float32Array.of(1, 2, 3, 4), [4, 3], { traversalOrder: [0, 1, 2], blockMap: [0], levels });
    expect([...dense]).toEqual([0, 0, 1, 0, 0, 2, 3, 0, 0, 4, 0, 0]);
  });
});

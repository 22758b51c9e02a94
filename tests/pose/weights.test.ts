import '../../workers/pose/no-telemetry.ts';
import { InferenceSession, Tensor } from 'onnxruntime-node';
import { describe, expect, it } from 'vitest';
import { createOnnxGraph, onnxType } from '../../workers/pose/onnx.ts';
import { constantWeights, densify } from '../../workers/pose/tflite.ts';

describe('float16 weights', () => {
  const bits = [0x3c00, 0xc000, 0x7bff, 0x0001, 0x3555];
  const constant = (type: number) => ({ name: 'w', shape: [5], type, data: new Uint8Array(Uint16Array.from(bits).buffer) });

  it('are kept as they are', () => {
    expect(constantWeights(constant(1))).toEqual(Uint16Array.from(bits));
  });

  it('are widened by the graph', async () => {
    const graph = createOnnxGraph();
    graph.node('Add', ['image', graph.floats(constantWeights(constant(1)), [5])], {}, 'sum');
    const port = { type: onnxType.float, shape: [5] };
    const session = await InferenceSession.create(graph.encode({ name: 'image', ...port }, [{ name: 'sum', ...port }]));
    const { sum } = await session.run({ image: new Tensor('float32', new Float32Array(5), [5]) });
    // IEEE 754 binary16, from memory: one, minus two, the largest, the smallest, the nearest to a third
    expect([...(sum!.data as Float32Array)]).toEqual([1, -2, 65504, 2 ** -24, 0.333251953125]);
    await session.release();
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

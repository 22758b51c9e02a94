import { readRoot, type Table } from './flatbuffer.ts';

// Field and operator numbers: the TensorFlow Lite schema, version 3 (schema.fbs).

/** Element types by the schema's TensorType; only those that the pose models hold. */
const elementType = { float32: 0, float16: 1, int32: 2 } as const;

/** How a sparse tensor's levels are stored; see `densify`. */
export type Sparsity = {
  traversalOrder: number[];
  blockMap: number[];
  levels: ({ kind: 'dense'; size: number } | { kind: 'sparse'; segments: number[]; indices: number[] })[];
};

/** A tensor: `shape` as in the file (NHWC for pictures); `data` (a view of the file) is set for constants only. */
export type LiteTensor = {
  name: string;
  shape: number[];
  type: number;
  data?: Uint8Array | undefined;
  sparsity?: Sparsity | undefined;
};

/** One operation: inputs and outputs are tensor numbers (-1: input left out). */
export type LiteOperation = { code: number; inputs: number[]; outputs: number[]; options: Table | undefined };

/** A model with a single graph. */
export type LiteModel = { tensors: LiteTensor[]; operations: LiteOperation[]; inputs: number[]; outputs: number[] };

/** Reads a .tflite file without copying its weights. Throws when it is not a version 3 model. */
export function readTflite(file: Uint8Array): LiteModel {
  if (new TextDecoder().decode(file.subarray(4, 8)) !== 'TFL3') throw new Error('not a TFLite version 3 model');
  const model = readRoot(file);
  const codes = model.tables(1).map((code) => Math.max(code.int8(0), code.int32(3)));
  const buffers = model.tables(4);
  const graph = model.tables(2)[0]!;
  const tensors = graph.tables(0).map((tensor): LiteTensor => {
    const sparsity = tensor.table(6);
    return {
      name: tensor.text(3),
      shape: tensor.int32s(0),
      type: tensor.int8(1),
      data: buffers[tensor.int32(2)]?.bytes(0, 1),
      sparsity: sparsity && readSparsity(sparsity),
    };
  });
  const operations = graph.tables(3).map((operation) => ({
    code: codes[operation.int32(0)]!,
    inputs: operation.int32s(1),
    outputs: operation.int32s(2),
    options: operation.table(4),
  }));
  return { tensors, operations, inputs: graph.int32s(1), outputs: graph.int32s(2) };
}

function readSparsity(table: Table): Sparsity {
  return {
    traversalOrder: table.int32s(0),
    blockMap: table.int32s(1),
    levels: table
      .tables(2)
      .map((level) =>
        level.int8(0) === 0
          ? { kind: 'dense', size: level.int32(1) }
          : { kind: 'sparse', segments: readIndexVector(level, 2), indices: readIndexVector(level, 4) },
      ),
  };
}

/** A union of index vectors: 1 int32, 2 uint16, 3 uint8. */
function readIndexVector(level: Table, field: number): number[] {
  const kind = level.int8(field);
  const vector = level.table(field + 1);
  if (!vector) return [];
  if (kind === 1) return vector.int32s(0);
  const bytes = vector.bytes(0, kind === 2 ? 2 : 1) ?? new Uint8Array();
  return Array.from(kind === 2 ? new Uint16Array(bytes.slice().buffer) : bytes);
}

/** Numbers of a constant: floats, or the bits of IEEE 754 binary16 as the file has them. */
export type Weights = Float32Array | Uint16Array;

/** A constant's numbers in the file's order; sparse tensors are filled with zeros. */
export function constantWeights(tensor: LiteTensor): Weights {
  if (!tensor.data) throw new Error(`tensor ${tensor.name} is not a constant`);
  const copy = tensor.data.slice().buffer; // aligned
  const values = tensor.type === elementType.float16 ? new Uint16Array(copy) : new Float32Array(copy);
  return tensor.sparsity ? densify(values, tensor.shape, tensor.sparsity) : values;
}

/** An array of zeros of the same kind. */
export const zerosLike = (values: Weights, length: number): Weights =>
  values instanceof Uint16Array ? new Uint16Array(length) : new Float32Array(length);

/** A constant's values as 32-bit integers. */
export function constantInts(tensor: LiteTensor): number[] {
  if (!tensor.data || tensor.type !== elementType.int32) throw new Error(`tensor ${tensor.name} is not an int32 constant`);
  return Array.from(new Int32Array(tensor.data.slice().buffer));
}

/** Spreads the stored values of a sparse tensor over its dense shape: levels are walked in traversal order, blocks last. */
export function densify(values: Weights, shape: number[], sparsity: Sparsity): Weights {
  const { traversalOrder, blockMap, levels } = sparsity;
  const rank = shape.length;
  const strides = shape.map((_, d) => shape.slice(d + 1).reduce((a, b) => a * b, 1));
  const blockSize = blockMap.map((_, b) => {
    const level = levels[traversalOrder.indexOf(rank + b)]!;
    return level.kind === 'dense' ? level.size : 1;
  });
  // What one step along each walked dimension adds to the flat index: a blocked dimension steps by whole blocks.
  const step = traversalOrder.map((dimension) => {
    if (dimension >= rank) return strides[blockMap[dimension - rank]!]!;
    const block = blockMap.indexOf(dimension);
    return strides[dimension]! * (block < 0 ? 1 : blockSize[block]!);
  });
  const size = shape.reduce((a, b) => a * b, 1);
  const out = zerosLike(values, size);
  const walk = (depth: number, stored: number, flat: number): void => {
    const level = levels[depth];
    if (!level) out[flat] = values[stored]!;
    else if (level.kind === 'dense') {
      for (let k = 0; k < level.size; k++) walk(depth + 1, stored * level.size + k, flat + k * step[depth]!);
    } else {
      for (let k = level.segments[stored]!; k < level.segments[stored + 1]!; k++)
        walk(depth + 1, k, flat + level.indices[k]! * step[depth]!);
    }
  };
  walk(0, 0, 0);
  return out;
}

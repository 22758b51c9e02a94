import { bytes, int, join, message, type Pieces, text } from './protobuf.ts';

// Field numbers: onnx.proto of ONNX IR version 8; operators of opset 13.

/** An attribute of an ONNX node: whole numbers, or a text. Floats do not occur in the operators used. */
type Attribute = number | number[] | string;

/** Element types of ONNX tensors (TensorProto.DataType). */
export const onnxType = { float: 1, uint8: 2, int64: 7, float16: 10 } as const;

/** Collects nodes and constants and writes an ONNX model. */
export type OnnxGraph = {
  /** Adds a node and gives the name of its (only) output. */
  node(type: string, inputs: string[], attributes?: Record<string, Attribute>, output?: string): string;
  /** Adds a float constant, given as floats or as the bits of float16 numbers, and gives its name. */
  floats(values: Float32Array | Uint16Array, shape: number[]): string;
  /** Adds an int64 constant and gives its name. */
  ints(values: number[]): string;
  /** Writes the ModelProto. */
  encode(input: Port, outputs: Port[]): Uint8Array;
};

/** An input or output at the graph's edge; `type` is one of `onnxType`. */
type Port = { name: string; type: number; shape: number[] };

/** Starts an empty graph. */
export function createOnnxGraph(): OnnxGraph {
  const nodes: Pieces[] = [];
  const constants: Pieces[] = [];
  const constant = (type: number, shape: number[], raw: Uint8Array) => {
    const name = `c${constants.length}`;
    constants.push(message(5, ...shape.map((d) => int(1, d)), int(2, type), text(8, name), bytes(9, raw)));
    return name;
  };
  const node: OnnxGraph['node'] = (type, inputs, attributes = {}, output = `n${nodes.length}`) => {
    const fields = Object.entries(attributes).map(([name, value]) => attribute(name, value));
    nodes.push(message(1, ...inputs.map((input) => text(1, input)), text(2, output), text(4, type), ...fields));
    return output;
  };
  return {
    node,
    floats: (values, shape) => {
      const raw = new Uint8Array(values.buffer, values.byteOffset, values.byteLength);
      if (values instanceof Float32Array) return constant(onnxType.float, shape, raw);
      return node('Cast', [constant(onnxType.float16, shape, raw)], { to: onnxType.float });
    },
    ints: (values) => constant(onnxType.int64, [values.length], new Uint8Array(BigInt64Array.from(values, BigInt).buffer)),
    encode: (input, outputs) =>
      join(
        int(1, 8),
        message(7, ...nodes, text(2, 'pose'), ...constants, port(11, input), ...outputs.map((output) => port(12, output))),
        message(8, text(1, ''), int(2, 13)),
      ),
  };
}

function attribute(name: string, value: Attribute): Pieces {
  const [payload, type] =
    typeof value === 'string'
      ? [text(4, value), 3]
      : Array.isArray(value)
        ? [value.flatMap((v) => int(8, v)), 7]
        : [int(3, value), 2];
  return message(5, text(1, name), payload, int(20, type));
}

function port(field: number, { name, type, shape }: Port): Pieces {
  const dims = shape.map((d) => message(1, int(1, d)));
  return message(field, text(1, name), message(2, message(1, int(1, type), message(2, ...dims))));
}

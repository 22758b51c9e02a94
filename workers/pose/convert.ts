import type { Table } from './flatbuffer.ts';
import { createOnnxGraph, type OnnxGraph, onnxType } from './onnx.ts';
import {
  constantInts,
  constantWeights,
  type LiteModel,
  type LiteOperation,
  type LiteTensor,
  type Weights,
  zerosLike,
} from './tflite.ts';

/** What the converted model reads and yields. */
export type ConvertOptions = {
  /** Shapes of the outputs to keep, in the order wanted; whatever only feeds other outputs is left out. */
  outputs: { name: string; shape: number[] }[];
  /** When set, the input is uint8 and the graph itself computes `byte * scale + offset`; else it is float. */
  byteInput?: { scale: number; offset: number };
};

/**
 * Turns a TFLite model into an ONNX model (bytes of a ModelProto, opset 13). The input `image` keeps its NHWC shape and is transposed
 * once; between, all rank 4 tensors are NCHW. SAME padding becomes explicit; sparse weights become dense, float16 ones
 * are widened by the graph itself (half the memory while it loads).
 * Throws on an operator that the pose models do not use.
 */
export function convertToOnnx(model: LiteModel, options: ConvertOptions): Uint8Array {
  const graph = createOnnxGraph();
  const inputTensor = model.tensors[model.inputs[0]!]!;
  const kept = options.outputs.map(({ name, shape }) => {
    const tensor = model.outputs.find((id) => model.tensors[id]!.shape.join() === shape.join());
    if (tensor === undefined) throw new Error(`the model has no output of shape ${shape.join('x')}`);
    return { name, shape, tensor };
  });
  const state: State = { graph, model, names: new Map(), constants: new Map() };
  let image = graph.node('Transpose', ['image'], { perm: [0, 3, 1, 2] });
  if (options.byteInput) {
    image = graph.node('Cast', [image], { to: onnxType.float });
    image = graph.node('Mul', [image, graph.floats(Float32Array.of(options.byteInput.scale), [])]);
    if (options.byteInput.offset) image = graph.node('Add', [image, graph.floats(Float32Array.of(options.byteInput.offset), [])]);
  }
  state.names.set(model.inputs[0]!, image);

  for (const operation of needed(
    model,
    kept.map(({ tensor }) => tensor),
  )) {
    const convert = operators[operation.code];
    if (!convert) throw new Error(`operator ${operation.code} is not known to the converter`);
    convert(state, operation);
  }
  for (const { name, tensor, shape } of kept) {
    const inner = state.names.get(tensor)!;
    if (shape.length === 4) graph.node('Transpose', [inner], { perm: [0, 2, 3, 1] }, name);
    else graph.node('Identity', [inner], {}, name);
  }
  const type = options.byteInput ? onnxType.uint8 : onnxType.float;
  return graph.encode(
    { name: 'image', type, shape: inputTensor.shape },
    kept.map((k) => ({ ...k, type: onnxType.float })),
  );
}

type State = {
  graph: OnnxGraph;
  model: LiteModel;
  /** ONNX names of the tensors computed so far. */
  names: Map<number, string>;
  /** Constants that went through DENSIFY or DEQUANTIZE, by the number of the tensor they came out as. */
  constants: Map<number, LiteTensor>;
};

type Convert = (state: State, operation: LiteOperation) => void;

/** The operations that the wanted tensors depend on, in the file's order. */
function needed(model: LiteModel, wanted: number[]): LiteOperation[] {
  const live = new Set(wanted);
  const kept: LiteOperation[] = [];
  for (const operation of model.operations.toReversed()) {
    if (!operation.outputs.some((id) => live.has(id))) continue;
    for (const id of operation.inputs) live.add(id);
    kept.push(operation);
  }
  return kept.reverse();
}

const tensorOf = ({ model }: State, id: number) => model.tensors[id]!;
const constantOf = (state: State, id: number) => state.constants.get(id) ?? tensorOf(state, id);

function computed(state: State, id: number): string {
  const name = state.names.get(id);
  if (name === undefined) throw new Error(`tensor ${tensorOf(state, id).name} is read before it is computed`);
  return name;
}

/** Numbers of the schema's ActivationFunctionType. */
function setOutput(state: State, operation: LiteOperation, value: string, activation: number): void {
  const { graph } = state;
  if (activation === 1) value = graph.node('Relu', [value]);
  else if (activation === 3)
    value = graph.node('Clip', [value, graph.floats(Float32Array.of(0), []), graph.floats(Float32Array.of(6), [])]);
  else if (activation !== 0) throw new Error(`activation ${activation} is not known to the converter`);
  state.names.set(operation.outputs[0]!, value);
}

/** Passes a constant through; its values are widened where they are read. */
const passConstant: Convert = (state, { inputs, outputs }) => {
  state.constants.set(outputs[0]!, constantOf(state, inputs[0]!));
};

/** ONNX pads [top, left, bottom, right] of TFLite's padding; SAME puts the odd pixel at the bottom and right. */
function pads(same: boolean, size: number[], kernel: number[], strides: number[], dilations: number[]): number[] {
  if (!same) return [0, 0, 0, 0];
  const total = [0, 1].map((d) => {
    const reach = (kernel[d]! - 1) * dilations[d]! + 1;
    return Math.max(0, (Math.ceil(size[d]! / strides[d]!) - 1) * strides[d]! + reach - size[d]!);
  });
  return [...total.map((t) => t >> 1), ...total.map((t) => t - (t >> 1))];
}

function convolution(
  state: State,
  operation: LiteOperation,
  at: { activation: number; dilation: number },
  depthwise: boolean,
): void {
  const { graph } = state;
  const options = operation.options as Table;
  const [data, weights, bias] = operation.inputs as [number, number, number | undefined];
  const shape = tensorOf(state, weights).shape as [number, number, number, number];
  const [, height, width, channels] = tensorOf(state, data).shape as [number, number, number, number];
  const values = constantWeights({ ...constantOf(state, weights), shape });
  const kernel = [shape[1], shape[2]];
  const strides = [options.int32(2, 1), options.int32(1, 1)];
  const dilations = [options.int32(at.dilation + 1, 1), options.int32(at.dilation, 1)];
  const weightName = depthwise
    ? graph.floats(permute(values, [1, shape[1] * shape[2], shape[3]]), [shape[3], 1, shape[1], shape[2]])
    : graph.floats(permute(values, [shape[0], shape[1] * shape[2], shape[3]]), [shape[0], shape[3], shape[1], shape[2]]);
  const inputs = [computed(state, data), weightName];
  if (bias !== undefined && bias >= 0)
    inputs.push(graph.floats(constantWeights(constantOf(state, bias)), [tensorOf(state, bias).shape[0]!]));
  const value = graph.node('Conv', inputs, {
    kernel_shape: kernel,
    strides,
    dilations,
    pads: pads(options.int8(0) === 0, [height, width], kernel, strides, dilations),
    group: depthwise ? channels : 1,
  });
  setOutput(state, operation, value, options.int8(at.activation));
}

/** Swaps the last two of three dimensions. */
function permute(values: Weights, [a, b, c]: [number, number, number]): Weights {
  if (b === 1) return values;
  const out = zerosLike(values, values.length);
  for (let i = 0; i < a; i++)
    for (let j = 0; j < b; j++) for (let k = 0; k < c; k++) out[(i * c + k) * b + j] = values[(i * b + j) * c + k]!;
  return out;
}

/** By the schema's BuiltinOperator number. */
const operators: Record<number, Convert | undefined> = {
  // ADD
  0: (state, operation) => {
    const inputs = operation.inputs.map((id) => computed(state, id));
    setOutput(state, operation, state.graph.node('Add', inputs), operation.options?.int8(0) ?? 0);
  },
  // CONCATENATION; an axis of a rank 4 tensor moves with the layout
  2: (state, operation) => {
    const rank = tensorOf(state, operation.outputs[0]!).shape.length;
    const axis = ((operation.options?.int32(0) ?? 0) + rank) % rank;
    const inputs = operation.inputs.map((id) => computed(state, id));
    const value = state.graph.node('Concat', inputs, { axis: rank === 4 ? [0, 2, 3, 1][axis]! : axis });
    setOutput(state, operation, value, operation.options?.int8(1) ?? 0);
  },
  // CONV_2D
  3: (state, operation) => convolution(state, operation, { activation: 3, dilation: 4 }, false),
  // DEPTHWISE_CONV_2D
  4: (state, operation) => convolution(state, operation, { activation: 4, dilation: 5 }, true),
  // DEPTH_TO_SPACE; TFLite's order is depth-column-row
  5: (state, operation) => {
    const attributes = { blocksize: operation.options!.int32(0), mode: 'DCR' };
    setOutput(state, operation, state.graph.node('DepthToSpace', [computed(state, operation.inputs[0]!)], attributes), 0);
  },
  // DEQUANTIZE (float16 to float32)
  6: passConstant,
  // LOGISTIC
  14: (state, operation) => setOutput(state, operation, state.graph.node('Sigmoid', [computed(state, operation.inputs[0]!)]), 0),
  // MAX_POOL_2D
  17: (state, operation) => {
    const options = operation.options as Table;
    const [, height, width] = tensorOf(state, operation.inputs[0]!).shape as [number, number, number];
    const kernel = [options.int32(4), options.int32(3)];
    const strides = [options.int32(2), options.int32(1)];
    const attributes = {
      kernel_shape: kernel,
      strides,
      pads: pads(options.int8(0) === 0, [height, width], kernel, strides, [1, 1]),
    };
    const value = state.graph.node('MaxPool', [computed(state, operation.inputs[0]!)], attributes);
    setOutput(state, operation, value, options.int8(5));
  },
  // RESHAPE; counts in NHWC order
  22: (state, operation) => {
    const { graph } = state;
    let value = computed(state, operation.inputs[0]!);
    const shape = tensorOf(state, operation.outputs[0]!).shape;
    if (tensorOf(state, operation.inputs[0]!).shape.length === 4)
      value = graph.node('Transpose', [value], { perm: [0, 2, 3, 1] });
    value = graph.node('Reshape', [value, graph.ints(shape)]);
    if (shape.length === 4) value = graph.node('Transpose', [value], { perm: [0, 3, 1, 2] });
    setOutput(state, operation, value, 0);
  },
  // RESIZE_BILINEAR
  23: (state, operation) => {
    const { graph } = state;
    const [batch, height, width, channels] = tensorOf(state, operation.outputs[0]!).shape as [number, number, number, number];
    const mode = operation.options?.int8(3) ? 'half_pixel' : operation.options?.int8(2) ? 'align_corners' : 'asymmetric';
    const inputs = [computed(state, operation.inputs[0]!), '', '', graph.ints([batch, channels, height, width])];
    setOutput(state, operation, graph.node('Resize', inputs, { mode: 'linear', coordinate_transformation_mode: mode }), 0);
  },
  // PAD: [dimension][before, after] in NHWC
  34: (state, operation) => {
    const { graph } = state;
    const amounts = constantInts(constantOf(state, operation.inputs[1]!));
    const order = tensorOf(state, operation.inputs[0]!).shape.length === 4 ? [0, 3, 1, 2] : [0, 1, 2];
    const before = order.map((d) => amounts[2 * d]!);
    const after = order.map((d) => amounts[2 * d + 1]!);
    setOutput(state, operation, graph.node('Pad', [computed(state, operation.inputs[0]!), graph.ints([...before, ...after])]), 0);
  },
  // DENSIFY
  124: passConstant,
};

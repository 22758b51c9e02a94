import type { Layer } from '../stages/camera-net.ts';

/** A layer while it learns: its numbers, and the running means of their gradients and squared gradients (Adam). */
interface Learning {
  inputs: number;
  outputs: number;
  /** `[inputs + 1][outputs]`, the last row are the biases. */
  values: Float64Array;
  gradient: Float64Array;
  mean: Float64Array;
  square: Float64Array;
}

export interface Network {
  layers: Learning[];
  steps: number;
}

/** Decay of the running means and the smallest divisor: Kingma and Ba, Adam, 2015. */
const [meanDecay, squareDecay, tiny] = [0.9, 0.999, 1e-8];

/** A network of fully connected layers of `sizes` units, first the inputs. Weights start as Glorot and Bengio (2010) say. */
export function emptyNetwork(sizes: readonly number[], random: () => number): Network {
  const layers = sizes.slice(1).map((outputs, at) => {
    const inputs = sizes[at]!;
    const [reach, count] = [Math.sqrt(6 / (inputs + outputs)), (inputs + 1) * outputs];
    const values = Float64Array.from({ length: count }, (_, n) => (n < inputs * outputs ? (2 * random() - 1) * reach : 0));
    const zeros = () => new Float64Array(count);
    return { inputs, outputs, values, gradient: zeros(), mean: zeros(), square: zeros() };
  });
  return { layers, steps: 0 };
}

/** What each layer puts out for one example, the input first. */
function forward({ layers }: Network, input: Float64Array): Float64Array[] {
  const all = [input];
  for (const [at, { inputs, outputs, values }] of layers.entries()) {
    const from = all[at]!;
    const to = values.slice(inputs * outputs);
    for (let i = 0; i < inputs; i++) {
      const value = from[i]!;
      if (value !== 0) for (let o = 0; o < outputs; o++) to[o] = to[o]! + value * values[i * outputs + o]!;
    }
    if (at < layers.length - 1) for (let o = 0; o < outputs; o++) to[o] = Math.max(0, to[o]!);
    all.push(to);
  }
  return all;
}

/** One step of Adam on the mean squared error of a batch plus `weightDecay` times the sum of squared weights. */
export function learn(
  network: Network,
  batch: readonly { input: Float64Array; target: readonly number[] }[],
  { learningRate, weightDecay }: { learningRate: number; weightDecay: number },
): void {
  for (const { gradient } of network.layers) gradient.fill(0);
  for (const { input, target } of batch) {
    const outputs = forward(network, input);
    let error = outputs.at(-1)!.map((value, at) => (2 * (value - target[at]!)) / (target.length * batch.length));
    for (let at = network.layers.length - 1; at >= 0; at--) {
      const layer = network.layers[at]!;
      const from = outputs[at]!;
      const before = new Float64Array(layer.inputs);
      for (let i = 0; i <= layer.inputs; i++) {
        const value = i < layer.inputs ? from[i]! : 1;
        if (value === 0) continue;
        let back = 0;
        for (let o = 0, n = i * layer.outputs; o < layer.outputs; o++, n++) {
          layer.gradient[n] = layer.gradient[n]! + value * error[o]!;
          back += layer.values[n]! * error[o]!;
        }
        if (i < layer.inputs) before[i] = back;
      }
      error = before;
    }
  }
  network.steps += 1;
  const rate = (learningRate * Math.sqrt(1 - squareDecay ** network.steps)) / (1 - meanDecay ** network.steps);
  for (const { inputs, outputs, values, gradient, mean, square } of network.layers) {
    for (let n = 0; n < values.length; n++) {
      const slope = gradient[n]! + (n < inputs * outputs ? 2 * weightDecay * values[n]! : 0);
      mean[n] = meanDecay * mean[n]! + (1 - meanDecay) * slope;
      square[n] = squareDecay * square[n]! + (1 - squareDecay) * slope * slope;
      values[n] = values[n]! - (rate * mean[n]!) / (Math.sqrt(square[n]!) + tiny);
    }
  }
}

/** The learned numbers, to four digits behind the point. */
export function layersOf({ layers }: Network): Layer[] {
  return layers.map(({ inputs, outputs, values }) => {
    const short = Array.from(values, (value) => Number(value.toFixed(4)));
    return { weights: short.slice(0, inputs * outputs), biases: short.slice(inputs * outputs) };
  });
}

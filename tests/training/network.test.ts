import { expect, it } from 'vitest';
import { emptyNetwork, layersOf, learn } from '../../workers/training/network.ts';
import { numbersFrom } from '../../workers/training/random-clip.ts';

/** The four cases of exclusive or, which no network without a hidden layer can learn (Minsky and Papert, Perceptrons, 1969). */
const cases = [
  { input: [0, 0], target: [0] },
  { input: [0, 1], target: [1] },
  { input: [1, 0], target: [1] },
  { input: [1, 1], target: [0] },
].map(({ input, target }) => ({ input: Float64Array.from(input), target }));

const rates = { learningRate: 0.01, weightDecay: 0 };

it('learns exclusive or', () => {
  const network = emptyNetwork([2, 12, 1], numbersFrom(3));
  for (let step = 0; step < 1500; step++) learn(network, cases, rates);
  const [hidden, last] = layersOf(network);
  const answers = cases.map(({ input }) => {
    const inner = hidden!.biases.map((bias, o) =>
      Math.max(0, bias + hidden!.weights[o]! * input[0]! + hidden!.weights[12 + o]! * input[1]!),
    );
    return last!.biases[0]! + inner.reduce((sum, value, at) => sum + value * last!.weights[at]!, 0);
  });
  for (const [at, { target }] of cases.entries()) expect(answers[at]).toBeCloseTo(target[0]!, 1);
});

it('follows the slope that differences of the error give', () => {
  // away from 0, where the slope of relu jumps
  const batch = cases.map(({ input, target }) => ({
    input: input.map((value) => value + 0.3),
    target: [target[0]!, 1 - 2 * target[0]!],
  }));
  const error = (values: Float64Array) => {
    let sum = 0;
    for (const { input, target } of batch) {
      const inner = [0, 1, 2].map((o) => Math.max(0, values[6 + o]! + input[0]! * values[o]! + input[1]! * values[3 + o]!));
      for (let o = 0; o < 2; o++) {
        const out = values[15 + o]! + inner.reduce((total, value, at) => total + value * values[9 + 2 * at + o]!, 0);
        sum += (out - target[o]!) ** 2 / (2 * batch.length);
      }
    }
    return sum;
  };
  const network = emptyNetwork([2, 3, 2], numbersFrom(8));
  const values = Float64Array.from(network.layers.flatMap((layer) => Array.from(layer.values)));
  const slopes = values.map((_, at) => {
    const [up, down] = [values.slice(), values.slice()];
    up[at] = up[at]! + 1e-5;
    down[at] = down[at]! - 1e-5;
    return (error(up) - error(down)) / 2e-5;
  });
  learn(network, batch, rates);
  const found = network.layers.flatMap(({ gradient }) => Array.from(gradient));
  expect(found).toHaveLength(17);
  for (const [at, slope] of slopes.entries()) expect(found[at]).toBeCloseTo(slope, 6);
});

it('starts the same for the same seed', () => {
  const start = (seed: number) => layersOf(emptyNetwork([4, 3, 2], numbersFrom(seed)));
  expect(start(1)).toEqual(start(1));
  expect(start(1)).not.toEqual(start(2));
});

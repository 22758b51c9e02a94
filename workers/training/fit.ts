import { type Layer, mirrored, netInput, netInputs, netPoints } from '../stages/view-net.ts';
import { emptyNetwork, layersOf, learn } from './network.ts';
import { numbersFrom } from './random-clip.ts';
import type { StillsLine } from './stills.ts';

/** How the networks are made and trained: chosen on rendered clips that were left out, by trying few values of each. */
const [hidden, batchSize, epochs] = [[96, 48], 128, 80];
/** The learning rate falls in a straight line to nothing. */
const [firstRate, weightDecay] = [0.003, 0.0002];
/** Spread of what is added to the points: shares of the body's size, and a tilt of the picture, rad; so that nothing hangs on exact places. */
const [pointNoise, tiltNoise] = [0.03, 0.05];
const toRad = Math.PI / 180;

/** Every pose of the lines, in picture and mirror, with cosine and sine of the azimuth. */
function examplesOf(lines: readonly StillsLine[]): { places: Float64Array; target: [cos: number, sin: number] }[] {
  return lines.flatMap(({ azimuthDeg, poses }) => {
    const [cos, sin] = [Math.cos(azimuthDeg * toRad), Math.sin(azimuthDeg * toRad)];
    return poses.flatMap(({ points }) => {
      const places = netPoints(points);
      return [
        { places, target: [cos, sin] as [number, number] },
        { places: mirrored(places), target: [cos, -sin] as [number, number] },
      ];
    });
  });
}

function shaken(places: Float64Array, normal: () => number): Float64Array {
  const count = places.length / 2;
  const mean = (axis: number) => places.reduce((sum, place, at) => sum + ((at & 1) === axis ? place : 0), 0) / count;
  const [cx, cy] = [mean(0), mean(1)];
  const size = Math.sqrt(places.reduce((sum, place, at) => sum + (place - (at & 1 ? cy : cx)) ** 2, 0) / count);
  const moved = places.map((place) => place + normal() * pointNoise * size);
  const tilt = normal() * tiltNoise;
  const [cos, sin] = [Math.cos(tilt), Math.sin(tilt)];
  return moved.map((place, at) => (at & 1 ? cos * place + sin * moved[at - 1]! : cos * place - sin * moved[at + 1]!));
}

/** Trains one network on all poses of the lines. The same lines and seed give the same network. */
export function fitNet(lines: readonly StillsLine[], seed: number): Layer[] {
  const random = numbersFrom(seed);
  const normal = () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const examples = examplesOf(lines);
  const network = emptyNetwork([netInputs, ...hidden, 2], random);
  for (let epoch = 0; epoch < epochs; epoch++) {
    const rows = examples.map(({ places, target }) => ({ input: netInput(shaken(places, normal)), target }));
    for (let at = rows.length - 1; at > 0; at--) {
      const other = Math.floor(random() * (at + 1));
      [rows[at], rows[other]] = [rows[other]!, rows[at]!];
    }
    for (let from = 0; from < rows.length; from += batchSize) {
      const learningRate = firstRate * (1 - (epoch + from / rows.length) / epochs);
      learn(network, rows.slice(from, from + batchSize), { learningRate, weightDecay });
    }
  }
  return layersOf(network);
}

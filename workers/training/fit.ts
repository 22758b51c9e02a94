import { type Layer, mirrored, type NetKind, netInput, netInputs, netKinds, placesOf } from '../stages/camera-net.ts';
import { emptyNetwork, layersOf, learn } from './network.ts';
import { numbersFrom } from './random-clip.ts';
import type { StillsLine } from './stills.ts';

/** How the networks are made and trained: chosen on rendered clips that were left out, by trying few values of each. */
const shapes = {
  azimuth: { hidden: [96, 48], epochs: 80, weightDecay: 0.0002 },
  elevation: { hidden: [48, 24], epochs: 60, weightDecay: 0.00002 },
} as const;
const batchSize = 128;
/** The learning rate falls in a straight line to nothing. */
const firstRate = 0.003;
/** Spread of what is added to the points: shares of the body's size, and a tilt of the picture, rad; so that nothing hangs on exact places. */
const [pointNoise, tiltNoise] = [0.03, 0.05];
const toRad = Math.PI / 180;

type Example = { places: Float64Array; target: number[] };

/** Every pose of the lines, in picture and mirror, with what the networks are to answer. */
function examplesOf(lines: readonly StillsLine[], kind: NetKind): Example[] {
  return lines.flatMap(({ azimuthDeg, elevationDeg, poses }) => {
    const [cos, sin, rise] = [Math.cos(azimuthDeg * toRad), Math.sin(azimuthDeg * toRad), Math.tan(elevationDeg * toRad)];
    return poses.flatMap(({ points }): Example[] => {
      const places = placesOf(points);
      return [
        { places, target: kind === 'azimuth' ? [cos, sin] : [rise] },
        { places: mirrored(places), target: kind === 'azimuth' ? [cos, -sin] : [rise] },
      ];
    });
  });
}

function shaken(places: Float64Array, normal: () => number): Float64Array {
  const count = places.length / 3;
  const mean = (axis: number) => places.reduce((sum, place, at) => sum + (at % 3 === axis ? place : 0), 0) / count;
  const middle = [mean(0), mean(1)];
  const size = Math.sqrt(places.reduce((sum, place, at) => sum + (at % 3 === 2 ? 0 : (place - middle[at % 3]!) ** 2), 0) / count);
  const moved = places.map((place) => place + normal() * pointNoise * size);
  const tilt = normal() * tiltNoise;
  const [cos, sin] = [Math.cos(tilt), Math.sin(tilt)];
  return moved.map((place, at) => {
    if (at % 3 === 2) return place;
    return at % 3 === 1 ? cos * place + sin * moved[at - 1]! : cos * place - sin * moved[at + 1]!;
  });
}

/** Trains one network on all poses of the lines. The same lines and seed give the same network. */
export function fitNet(lines: readonly StillsLine[], kind: NetKind, seed: number): Layer[] {
  const { hidden, epochs, weightDecay } = shapes[kind];
  const random = numbersFrom(seed);
  const normal = () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const examples = examplesOf(lines, kind);
  const network = emptyNetwork([netInputs(kind), ...hidden, netKinds[kind].outputs], random);
  for (let epoch = 0; epoch < epochs; epoch++) {
    const rows = examples.map(({ places, target }) => ({ input: netInput(shaken(places, normal), kind), target }));
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

import { readFileSync } from 'node:fs';
import { joint, type Pose, pointWidth } from '../pose/types.ts';
import { body } from './course.ts';

/** Layers of one network: `weights` `[inputs][outputs]` row by row, `biases` `[outputs]`; relu after all but the last. */
export type Layer = { weights: number[]; biases: number[] };
/** Networks whose answers are averaged, for who stands and for who lies on a bench. */
export type ViewNets = { standing: Layer[][]; lying: Layer[][] };

/** Points that the networks look at. */
const rows = [joint.nose, joint.earL, joint.earR, ...body, joint.heelL, joint.heelR, joint.toeL, joint.toeR];
const [hipL, hipR] = [rows.indexOf(joint.hipL), rows.indexOf(joint.hipR)];

/** Numbers that go into a network. */
export const netInputs = 2 * rows.length;

/** x, y of the points looked at, px, from `[33][5]` points of a pose. */
export function netPoints(points: ArrayLike<number>): Float64Array {
  return Float64Array.from({ length: netInputs }, (_, at) => points[rows[at >> 1]! * pointWidth + (at & 1)]!);
}

/** The same as a mirror shows it: x turned round, left and right changed over. */
export function mirrored(places: Float64Array): Float64Array {
  // rows are in pairs, left first, after the nose
  const twin = (row: number) => (row === 0 ? 0 : row % 2 === 1 ? row + 1 : row - 1);
  return Float64Array.from(places, (_, at) => places[2 * twin(at >> 1) + (at & 1)]! * (at & 1 ? 1 : -1));
}

/** Places free of where in the picture and how large: the middle of the hips is 0, the root of the mean square distance from it is 1. */
export function netInput(places: Float64Array): Float64Array {
  const middle = (axis: number) => (places[2 * hipL + axis]! + places[2 * hipR + axis]!) / 2;
  const [cx, cy] = [middle(0), middle(1)];
  const input = places.map((place, at) => place - (at & 1 ? cy : cx));
  const size = Math.sqrt(input.reduce((sum, value) => sum + value * value, 0) / rows.length) || 1;
  return input.map((value) => value / size);
}

function answerOf(layers: readonly Layer[], input: Float64Array): Float64Array {
  let values = input;
  for (const [at, { weights, biases }] of layers.entries()) {
    const next = Float64Array.from(biases);
    for (let from = 0; from < values.length; from++) {
      for (let to = 0; to < next.length; to++) next[to] = next[to]! + values[from]! * weights[from * next.length + to]!;
    }
    values = at < layers.length - 1 ? next.map((value) => Math.max(0, value)) : next;
  }
  return values;
}

let loaded: ViewNets | null = null;

/** The networks of `view-net.json`, trained by `npm run -s train-view` on rendered pictures only. */
export function ownNets(): ViewNets {
  loaded ??= JSON.parse(readFileSync(new URL('view-net.json', import.meta.url), 'utf8')) as ViewNets;
  return loaded;
}

/** Cosine and sine of the azimuth as networks guess it from where the body's points lie in the picture; shorter than 1 when they are unsure. */
export function guessView(pose: Pose, nets: readonly Layer[][]): [cos: number, sin: number] {
  const input = netInput(netPoints(pose.points));
  const answers = nets.map((layers) => answerOf(layers, input));
  const mean = (at: number) => answers.reduce((sum, answer) => sum + answer[at]!, 0) / answers.length;
  return [mean(0), mean(1)];
}

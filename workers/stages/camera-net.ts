import { readFileSync } from 'node:fs';
import { joint, type Pose, pointWidth } from '../pose/types.ts';
import { body } from './course.ts';

/** Layers of one network: `weights` `[inputs][outputs]` row by row, `biases` `[outputs]`; relu after all but the last. */
export type Layer = { weights: number[]; biases: number[] };
/** Networks whose answers are averaged, for who stands and for who lies on a bench. */
export type Nets = { standing: Layer[][]; lying: Layer[][] };

/** What networks tell of the camera from the places of a body's points, and what they answer with. */
export const netKinds = {
  /** Cosine and sine of the azimuth, from the picture alone: with the depth of the points they do worse on real clips. */
  azimuth: { axes: 2, outputs: 2 },
  /** Tangent of the elevation around the hips of a lifter who stands upright or lies; from picture and depth. */
  elevation: { axes: 3, outputs: 1 },
} as const;
export type NetKind = keyof typeof netKinds;

/** Points that the networks look at. */
const rows = [joint.nose, joint.earL, joint.earR, ...body, joint.heelL, joint.heelR, joint.toeL, joint.toeR];
const [hipL, hipR] = [rows.indexOf(joint.hipL), rows.indexOf(joint.hipR)];
const placeWidth = 3;

/** Numbers that go into a network. */
export const netInputs = (kind: NetKind) => netKinds[kind].axes * rows.length;

/** x, y and depth of the points looked at, `[rows][3]` px, from `[33][5]` points of a pose. */
export function placesOf(points: ArrayLike<number>): Float64Array {
  return Float64Array.from(
    { length: placeWidth * rows.length },
    (_, at) => points[rows[Math.floor(at / placeWidth)]! * pointWidth + (at % placeWidth)]!,
  );
}

/** The same as a mirror shows it: x turned round, left and right changed over. */
export function mirrored(places: Float64Array): Float64Array {
  // rows are in pairs, left first, after the nose
  const twin = (row: number) => (row === 0 ? 0 : row % 2 === 1 ? row + 1 : row - 1);
  return Float64Array.from(places, (_, at) => {
    const axis = at % placeWidth;
    return places[placeWidth * twin(Math.floor(at / placeWidth)) + axis]! * (axis === 0 ? -1 : 1);
  });
}

/**
 * The places for one kind of network, free of where in the picture and how large: the middle of the hips is 0, the root of the mean square
 * distance from it in the picture is 1. `[rows][axes]`.
 */
export function netInput(places: Float64Array, kind: NetKind): Float64Array {
  const { axes } = netKinds[kind];
  const middle = [0, 1, 2].map((axis) => (places[placeWidth * hipL + axis]! + places[placeWidth * hipR + axis]!) / 2);
  const from = (row: number, axis: number) => places[placeWidth * row + axis]! - middle[axis]!;
  const size = Math.sqrt(rows.reduce<number>((sum, _, row) => sum + from(row, 0) ** 2 + from(row, 1) ** 2, 0) / rows.length) || 1;
  return Float64Array.from({ length: netInputs(kind) }, (_, at) => from(Math.floor(at / axes), at % axes) / size);
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

/** Where the networks of a kind are kept. */
export const netsFile = (kind: NetKind) => new URL(`${kind}-net.json`, import.meta.url);

const loaded: Partial<Record<NetKind, Nets>> = {};

/** The networks of a kind, trained by `npm run -s train-camera` on rendered pictures only. */
export function ownNets(kind: NetKind): Nets {
  loaded[kind] ??= JSON.parse(readFileSync(netsFile(kind), 'utf8')) as Nets;
  return loaded[kind];
}

/** The mean of what networks of a kind answer to one pose, as `netKinds` says; cosine and sine are shorter than 1 when they are unsure. */
export function guess(kind: NetKind, pose: Pose, nets: readonly Layer[][]): number[] {
  const input = netInput(placesOf(pose.points), kind);
  const answers = nets.map((layers) => answerOf(layers, input));
  return Array.from({ length: netKinds[kind].outputs }, (_, at) => answers.reduce((sum, a) => sum + a[at]!, 0) / answers.length);
}

import { statSync } from 'node:fs';
import { expect, it } from 'vitest';
import { guess, mirrored, netInput, netsFile, ownNets, placesOf } from '../../workers/stages/camera-net.ts';
import { viewOf } from '../../workers/stages/view.ts';
import { poseOf, squatting } from './stick-figure.ts';

const poses = (azimuthDeg: number) =>
  [0, 0.2, 0.5, 0.8, 1, 0.6, 0.1, 0].map((depth) =>
    poseOf(squatting(depth), { azimuthDeg, heightM: 1.5, distanceM: 3 }, [288, 512], 69.4),
  );
const places = () => placesOf(poses(40)[0]!.points);
const inPicture = (values: Float64Array) => netInput(values, 'azimuth');

it('sees the same wherever in the picture and however large', () => {
  const moved = places().map((place, at) => 2.5 * place + [-300, 40, 7][at % 3]!);
  for (const kind of ['azimuth', 'elevation'] as const) {
    const [here, there] = [netInput(places(), kind), netInput(moved, kind)];
    for (const [at, value] of here.entries()) expect(there[at]).toBeCloseTo(value, 9);
  }
  const here = inPicture(places());
  const square = here.reduce((sum, value) => sum + value * value, 0);
  expect(square / (here.length / 2)).toBeCloseTo(1, 9);
});

it('mirrors a lifter filmed from the left into one filmed from the right', () => {
  const [left, right] = [inPicture(mirrored(places())), inPicture(placesOf(poses(-40)[0]!.points))];
  for (const [at, value] of right.entries()) expect(left[at]).toBeCloseTo(value, 2);
  expect(mirrored(mirrored(places()))).toEqual(places());
});

it('guesses what it was never shown: a stick figure', () => {
  for (const azimuthDeg of [-135, -90, -45, 0, 45, 90, 135]) {
    const [cos, sin] = guess('azimuth', poses(azimuthDeg)[0]!, ownNets('azimuth').standing) as [number, number];
    const off = Math.acos(
      (cos * Math.cos((azimuthDeg * Math.PI) / 180) + sin * Math.sin((azimuthDeg * Math.PI) / 180)) / Math.hypot(cos, sin),
    );
    expect((off * 180) / Math.PI, `azimuth ${azimuthDeg}`).toBeLessThan(45);
  }
});

it('stays with the poses that agree when others are the wrong way round', () => {
  const view = viewOf([...poses(-35), ...poses(150).slice(0, 4)], 'press', null);
  expect(view.known && view.value.azimuthDeg).toBeCloseTo(-35, -1);
  const mean = viewOf(poses(-35), 'press', null);
  expect(view.known && mean.known && view.spread! > mean.spread!).toBe(true);
});

it.each(['azimuth', 'elevation'] as const)('keeps the networks of the %s small', (kind) => {
  expect(statSync(netsFile(kind)).size).toBeLessThan(300_000);
});

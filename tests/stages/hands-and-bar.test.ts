import { expect, it } from 'vitest';
import { withBar } from '../../workers/stages/hands-and-bar.ts';
import { settleLift } from '../../workers/stages/settle-lift.ts';
import { pressing } from './pressing.ts';
import { depthOf } from './stick-figure.ts';

it('counts a bench press by the bar where that is what the other model counts, and the hands were read wrong besides', () => {
  const [depth, stray] = [depthOf([1, 4.5]), depthOf([7, 9.6])];
  const { light } = pressing((t) => Math.max(depth(t), 0.7 * stray(t)), depth);
  const { poses: close } = pressing(depth, depth);
  expect(light.readings.map(({ cycles }) => cycles.length)).toEqual([4, 2]);
  expect(settleLift(light, close)).toMatchObject({ lift: 'bench', reps: { length: 2 } });
});

it('leaves out what goes up and down on the bench without the bar, though both models count it', () => {
  const [depth, stray] = [depthOf([1, 4.5]), depthOf([8])];
  const { light, poses } = pressing((t) => Math.max(depth(t), stray(t)), depth);
  expect(settleLift(light, poses)).toMatchObject({ reps: { length: 3 } });
  const told = withBar(light);
  expect(told.byBar).toBe(true);
  const { lift, reps } = settleLift(told, poses);
  expect(lift).toBe('bench');
  expect(reps.map(({ startS }) => Math.abs(startS - 1) < 0.5 || Math.abs(startS - 4.5) < 0.5)).toEqual([true, true]);
});

it('counts a rep that hands do not tell but the bar, where it goes as far as the others, and none where it goes a shorter way', () => {
  const [hands, first] = [depthOf([4.5]), depthOf([1])];
  const cyclesWith = (way: number) =>
    pressing(hands, (t) => Math.max(hands(t), way * first(t))).light.readings.map((r) => r.cycles.length);
  expect(cyclesWith(1)).toEqual([2, 2]);
  expect(cyclesWith(0.65).toSorted()).toEqual([1, 2]);
});

it('takes a short way of the hands for a part of a rep where the bar goes one way and back meanwhile', () => {
  const depth = depthOf([0]);
  const hands = (t: number) => Math.max(depth(t - 1), depth(t - 4.5), 0.7 * depth(2 * (t - 6.9)));
  const repsWith = (bar: (t: number) => number) => pressing(hands, bar).light.readings.find((r) => !r.ofBar)!.cycles.length;
  expect(repsWith((t) => Math.max(depth(t - 1), depth((t - 4.5) / 1.35)))).toBe(2);
  expect(repsWith(() => 0)).toBe(3);
});

it('counts a rep that hands tell though the bar is followed for a part of its way only', () => {
  const [depth, first, second] = [depthOf([1, 4.5]), depthOf([1]), depthOf([4.5])];
  const barIn = (share: number) => withBar(pressing(depth, (t) => Math.max(first(t), share * second(t))).light);
  expect(barIn(0.35)).toMatchObject({ byBar: true, readings: [{ lift: 'bench', cycles: { length: 2 } }] });
  expect(barIn(0.1)).toMatchObject({ byBar: true, readings: [{ lift: 'bench', cycles: { length: 1 } }] });
});

it('takes the hands as they are where the bar tells nothing', () => {
  const { light } = pressing(depthOf([1, 4.5]), () => 0);
  expect(withBar(light)).toBe(light);
});

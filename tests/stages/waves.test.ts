import { expect, it } from 'vitest';
import { wavesOf } from '../../workers/stages/waves.ts';

it('tells the start of a movement as even acceleration would have it, and of one that goes down first where it is seen', () => {
  const stepS = 1 / 15;
  // at rest until 2 s, 1 m evenly accelerated for 1 s and evenly slowed for another, and back the same way
  const way = (s: number) => (s <= 0 ? 0 : s < 1 ? s ** 2 / 2 : s < 2 ? 1 - (2 - s) ** 2 / 2 : 1);
  const v = Array.from({ length: 150 }, (_, i) => -way(i * stepS - 2) + way(i * stepS - 5));
  const told = (first: 'up' | 'down') =>
    wavesOf(v, { leastM: 0.2, stepS, first }).map(({ start, end }) => [start * stepS, end * stepS]);
  const [[up, upEnd], [down, downEnd]] = [told('up')[0]!, told('down')[0]!] as [[number, number], [number, number]];
  expect(Math.abs(up - 2)).toBeLessThan(0.15);
  expect(down - up).toBeGreaterThan(0.05);
  expect(down - 2).toBeLessThan(0.35);
  expect(Math.abs(upEnd - 7)).toBeLessThan(0.15);
  expect(downEnd).toBe(upEnd);
});

import { areApart, type Cycle, goesAsFar, isSame, scoreOf } from './cycle.ts';
import type { Lifter } from './lifter.ts';
import type { Reading } from './reps.ts';
import { median } from './series.ts';

/** Whole ways of the bar at other times than all reps told, which go as far as those that are one of them; none where fewer than `least` are. */
export function barAlone<Way extends Pick<Cycle, 'start' | 'end' | 'amplitudeM' | 'complete'>>(
  told: readonly Cycle[],
  bar: readonly Way[],
  least: number,
): Way[] {
  const both = bar.filter((b) => told.some((one) => isSame(one, b)));
  return both.length < least ? [] : bar.filter((b) => told.every((one) => areApart(one, b)) && goesAsFar(b, both));
}

/** Whether more than half of what one witness tells lies in the time of what another tells. */
const liesIn = (a: Cycle, b: Cycle) => Math.min(a.end, b.end) - Math.max(a.start, b.start) > (a.end - a.start) / 2;

/** The reps of the hands without short ways that are a part of one rep of the bar, which another of theirs is: a halt on the way is read as a turn. */
function withoutParts(hands: readonly Cycle[], bar: readonly Cycle[]): Cycle[] {
  const both = hands.filter((h) => bar.some((b) => isSame(h, b)));
  const isPart = (h: Cycle) => bar.some((b) => !isSame(h, b) && liesIn(h, b) && both.some((one) => isSame(one, b)));
  return hands.filter((h) => !isPart(h) || goesAsFar(h, both));
}

/**
 * The reps of a bench press that hands tell, without those that the bar shows to be a part of another, and those that the bar alone tells but that go
 * as far as where both do: hands are not seen at times.
 */
export function completedByBar(readings: Reading[]): Reading[] {
  const bar = readings.find((r) => r.ofBar);
  return readings.map((hands): Reading => {
    if (bar === undefined || hands === bar || hands.lift !== bar.lift) return hands;
    const whole = withoutParts(hands.cycles, bar.cycles);
    const amplitudeM = median(whole.map((h) => h.amplitudeM));
    const more = barAlone(whole, bar.cycles, 1).map((b) => ({ ...b, amplitudeM }));
    const cycles = [...whole, ...more].sort((a, b) => a.start - b.start);
    return { ...hands, cycles, score: scoreOf(cycles) };
  });
}

/** Least share of its travel that the bar goes down and up in a rep in which it was followed for a part of the way. Chosen. */
const leastBarWay = 0.3;

/**
 * A bench press by hands and bar together: the reps that both tell, half-way between the times that they tell, and those of the hands that go as far
 * while the bar moves; this leaves out what is read into the bench once the lifter has left it; the bar's where they tell others. As it is where
 * hands or bar tell nothing.
 */
export function withBar(light: Lifter): Lifter {
  const bench = light.readings.filter((r) => r.lift === 'bench');
  const [bar, hands] = [bench.find((r) => r.ofBar), bench.find((r) => !r.ofBar)];
  const height = light.movement.bar;
  if (bar === undefined || hands === undefined || height === null) return light;
  const between = (a: number, b: number) => Math.round((a + b) / 2);
  const pairs = bar.cycles.flatMap((b) => hands.cycles.filter((h) => isSame(h, b)).map((h) => ({ h, b })));
  const toldByBoth = pairs.map(({ h }) => h);
  const leastM = leastBarWay * median(pairs.map(({ b }) => b.amplitudeM));
  const bringsBar = ({ start, turn, end }: Cycle) => [start, end].every((rest) => height[rest]! - height[turn]! >= leastM);
  const cycles = hands.cycles.flatMap((h): Cycle[] => {
    const b = pairs.find((pair) => pair.h === h)?.b;
    if (b !== undefined)
      return [{ ...h, start: between(h.start, b.start), turn: between(h.turn, b.turn), end: between(h.end, b.end) }];
    return pairs.length > 0 && goesAsFar(h, toldByBoth) && bringsBar(h) ? [h] : [];
  });
  const told = pairs.length === 0 ? bar : { ...hands, cycles };
  return { ...light, byBar: pairs.length > 0, readings: [told, ...light.readings.filter((r) => r.lift !== 'bench')] };
}

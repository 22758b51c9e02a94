import { clock, feet, roundTo } from './numbers.ts';

/** A length in both units. */
export const metres = (m: number) => `${roundTo(m, 0.1)} m (${feet(m)} ft)`;
/** A range of lengths in both units. */
export const metresRange = (from: number, to: number) =>
  `${roundTo(from, 0.1)}–${roundTo(to, 0.1)} m (${feet(from)}–${feet(to)} ft)`;
/** A time, to a tenth below two seconds. */
export const seconds = (s: number) => (s < 2 ? `${roundTo(s, 0.1)} s` : `${Math.round(s)} s`);
/** A count with its noun. */
export const count = (n: number, one: string, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;
/** With a capital first. */
export const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
/** Things in a row, the last after an and. */
export const list = (items: readonly string[]) =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
/** A part of a clip by its clock, one time where both ends show the same. */
export const timesOf = ({ startS, endS }: { startS: number; endS: number }) =>
  clock(startS) === clock(endS) ? `at ${clock(startS)}` : `${clock(startS)}–${clock(endS)}`;

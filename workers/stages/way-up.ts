import type { Signal } from './series.ts';

/** One way up of a signal: when it moves, how far (the signal's unit) and how fast at most (unit per second). */
export interface WayUp {
  fromS: number;
  toS: number;
  rise: number;
  peakPerS: number;
}

/** It moves where it is faster than this share of its peak; looked for within the first and last share of the rise, so that a sticking point ends nothing. */
const movesAbove = 0.1;
const endsShare = 0.15;

/** The way up of a height between two times; null when there is none. */
export function wayUpOf({ startS, stepS, values }: Signal, fromS: number, toS: number): WayUp | null {
  const last = values.length - 1;
  const index = (timeS: number) => Math.min(last, Math.max(0, Math.round((timeS - startS) / stepS)));
  const [first, end] = [index(fromS), index(toS)];
  let high = end;
  for (let i = first; i <= end; i++) if (values[i]! > values[high]!) high = i;
  let low = first;
  for (let i = first; i <= high; i++) if (values[i]! <= values[low]!) low = i;
  const rise = values[high]! - values[low]!;
  if (high - low < 3 || !(rise > 0)) return null;
  const speed = (i: number) => (values[Math.min(last, i + 1)]! - values[Math.max(0, i - 1)]!) / (2 * stepS);
  let peakPerS = 0;
  for (let i = low; i <= high; i++) peakPerS = Math.max(peakPerS, speed(i));
  const least = movesAbove * peakPerS;
  let from = low;
  for (let i = low; i <= high && values[i]! < values[low]! + endsShare * rise; i++) if (speed(i) < least) from = i;
  let to = high;
  for (let i = high; i >= low && values[i]! > values[high]! - endsShare * rise; i--) if (speed(i) < least) to = i;
  return { fromS: startS + from * stepS, toS: startS + to * stepS, rise: values[to]! - values[from]!, peakPerS };
}

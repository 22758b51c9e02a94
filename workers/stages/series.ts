/** The q-quantile (0..1) of numbers, linear between ranks; NaN of none. */
export function quantile(values: readonly number[], q: number): number {
  if (values.length === 0) return Number.NaN;
  const sorted = [...values].sort((a, b) => a - b);
  const at = q * (sorted.length - 1);
  const low = Math.floor(at);
  return sorted[low]! + (sorted[Math.min(low + 1, sorted.length - 1)]! - sorted[low]!) * (at - low);
}

/** The median of numbers; NaN of none. */
export function median(values: readonly number[]): number {
  return quantile(values, 0.5);
}

/** 0 at `from` and on its far side, 1 at `to` and beyond (either may be the greater), linear between. */
export const ramp = (v: number, from: number, to: number): number => Math.min(1, Math.max(0, (v - from) / (to - from)));

/** An evenly sampled signal: values[i] at startS + i * stepS. */
export interface Signal {
  startS: number;
  stepS: number;
  values: number[];
}

/** Brings uneven samples (times growing) onto even steps by linear interpolation, a running median of 3 first against single slips. */
export function even(timesS: readonly number[], values: readonly number[], stepS: number): Signal {
  const calm = values.map((v, i) => (i === 0 || i === values.length - 1 ? v : median([values[i - 1]!, v, values[i + 1]!])));
  const startS = timesS[0]!;
  const count = Math.max(1, Math.floor((timesS.at(-1)! - startS) / stepS) + 1);
  const out: number[] = [];
  let k = 0;
  for (let i = 0; i < count; i++) {
    const t = startS + i * stepS;
    while (k + 2 < timesS.length && timesS[k + 1]! < t) k++;
    const a = timesS[k]!;
    const b = timesS[Math.min(k + 1, timesS.length - 1)]!;
    const f = b > a ? Math.min(1, Math.max(0, (t - a) / (b - a))) : 0;
    out.push(calm[k]! + (calm[Math.min(k + 1, calm.length - 1)]! - calm[k]!) * f);
  }
  return { startS, stepS, values: out };
}

/** The signal smoothed by a Gaussian of the given standard deviation in seconds; ends are held. */
export function smooth(signal: Signal, sigmaS: number): Signal {
  const reach = Math.ceil((3 * sigmaS) / signal.stepS);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * (((i - reach) * signal.stepS) / sigmaS) ** 2));
  const total = weights.reduce((a, b) => a + b, 0);
  const { values } = signal;
  const last = values.length - 1;
  const at = (i: number) => values[Math.min(last, Math.max(0, i))]!;
  return { ...signal, values: values.map((_, i) => weights.reduce((sum, w, k) => sum + w * at(i + k - reach), 0) / total) };
}

/** A high or low point of a signal. */
export interface Extreme {
  index: number;
  kind: 'high' | 'low';
}

/** High and low points in turn, each at least `least` away in value from its neighbours; the ends count as points. */
export function extremes(values: readonly number[], least: number): Extreme[] {
  const out: Extreme[] = [];
  let high = 0;
  let low = 0;
  let seek: 'high' | 'low' | null = null;
  for (let i = 1; i < values.length; i++) {
    const v = values[i]!;
    if (v > values[high]!) high = i;
    if (v < values[low]!) low = i;
    if (seek !== 'low' && v < values[high]! - least) {
      out.push({ index: high, kind: 'high' });
      seek = 'low';
      low = i;
    } else if (seek !== 'high' && v > values[low]! + least) {
      out.push({ index: low, kind: 'low' });
      seek = 'high';
      high = i;
    }
  }
  if (seek !== null) out.push({ index: seek === 'high' ? high : low, kind: seek });
  return out;
}

/** Numbers in equal steps, the last one included where it is a whole number of them away. */
export const steps = (from: number, to: number, step: number): number[] =>
  Array.from({ length: Math.floor((to - from) / step + 1.0001) }, (_, i) => from + i * step);

/** To two decimals. */
export const round2 = (v: number) => Math.round(v * 100) / 100;

import { wrapDeg } from '../facts/view.ts';
import type { Zone } from '../lifts/index.ts';

/** Half-width of a normal's 90 % interval in standard deviations. */
const z90 = 1.645;

/** Standard normal distribution function; Abramowitz and Stegun 7.1.26, error below 1.5e-7. */
function normalCdf(x: number): number {
  if (!Number.isFinite(x)) return x > 0 ? 1 : 0;
  const u = Math.abs(x) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * u);
  const tail = ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t * Math.exp(-u * u);
  return x >= 0 ? 1 - tail / 2 : tail / 2;
}

/** Probability that the true value lies above `bound` when `value` was measured with a 90 % half-width of `spread` (0: exact). */
export function probabilityAbove(value: number, spread: number, bound: number): number {
  if (spread <= 0) return value > bound ? 1 : 0;
  return normalCdf((value - bound) / (spread / z90));
}

/** Share of a wrapped normal round `centreDeg` that lies inside the zones, counted on both sides of the lifter. */
function insideShare(zones: readonly Zone[], centreDeg: number, spreadDeg: number): number {
  let share = 0;
  for (const { fromDeg, toDeg } of zones) {
    for (const [from, to] of fromDeg <= 0
      ? [[-toDeg, toDeg]]
      : [
          [fromDeg, toDeg],
          [-toDeg, -fromDeg],
        ]) {
      // Turns further away than two hold less than 1e-9 for any spread that is still a measurement.
      for (let turn = -2; turn <= 2; turn++) {
        share +=
          probabilityAbove(centreDeg, spreadDeg, from! + turn * 360) - probabilityAbove(centreDeg, spreadDeg, to! + turn * 360);
      }
    }
  }
  return Math.min(1, Math.max(0, share));
}

/**
 * Probability that the camera truly stands outside all zones. The measurement is a mixture: with probability `confidence` a wrapped
 * normal round the azimuth (90 % half-width `spreadDeg`), else the same round the front-to-rear flipped azimuth, 180 - a.
 * Zones must not overlap.
 */
export function probabilityOutside(zones: readonly Zone[], azimuthDeg: number, spreadDeg: number, confidence: number): number {
  const spread = Math.max(spreadDeg, 0.01);
  const straight = insideShare(zones, wrapDeg(azimuthDeg), spread);
  const flipped = insideShare(zones, wrapDeg(180 - azimuthDeg), spread);
  return 1 - (confidence * straight + (1 - confidence) * flipped);
}

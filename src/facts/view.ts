import type { ViewClass } from './facts.ts';

/** Angle wrapped to (-180, 180] degrees. */
export function wrapDeg(deg: number): number {
  const a = (((deg + 180) % 360) + 360) % 360;
  return a === 0 ? 180 : a - 180;
}

/** View class of an azimuth in degrees; bounds at 22.5, 67.5, 112.5 and 157.5. */
export function viewClassOf(azimuthDeg: number): ViewClass {
  const a = Math.abs(wrapDeg(azimuthDeg));
  if (a <= 22.5) return 'front';
  if (a <= 67.5) return 'front-quarter';
  if (a <= 112.5) return 'side';
  return a < 157.5 ? 'rear-quarter' : 'rear';
}

/** Side of the lifter on which the camera stands; `middle` within 10 degrees of straight in front or behind. */
export function sideOf(azimuthDeg: number): 'left' | 'right' | 'middle' {
  const a = wrapDeg(azimuthDeg);
  if (Math.abs(a) <= 10 || Math.abs(a) >= 170) return 'middle';
  return a > 0 ? 'left' : 'right';
}

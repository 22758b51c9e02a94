/** One step of a walking person in m, for people who do not carry a tape measure. Common practice; from memory. */
const stepM = 0.75;
/** International foot, exactly (yard and pound agreement of 1959). */
const footM = 0.3048;

/** Nearest multiple of `step`, free of binary crumbs. */
export function roundTo(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(3));
}

/** Clock time of a clip, whole seconds: 0:07, 1:03:20. */
export function clock(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds));
  const two = (n: number) => String(n).padStart(2, '0');
  const minutes = Math.floor(whole / 60);
  return whole < 3600 ? `${minutes}:${two(whole % 60)}` : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(whole % 60)}`;
}

/** Feet for m, to the half foot. */
export function feet(metres: number): number {
  return roundTo(metres / footM, 0.5);
}

/** Whole walking steps for m, at least one. */
export function steps(metres: number): number {
  return Math.max(1, Math.round(metres / stepM));
}

/** Whole walking steps that bring one at least so far, at least one. */
export function stepsToReach(metres: number): number {
  return Math.max(1, Math.ceil(metres / stepM - 0.05)); // 4 cm too few are no step more; chosen
}

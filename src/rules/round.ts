/** A share 0..1 as whole percent. */
export const percent = (share: number): number => Math.round(share * 100);

/** Rounded to one decimal, for seconds and metres. */
export const tenths = (value: number): number => Math.round(value * 10) / 10;

/** A share 0..1 as percent with two figures: whole from 10 on, to one decimal below. */
export const finePercent = (share: number): number => (share < 0.1 ? tenths(100 * share) : percent(share));

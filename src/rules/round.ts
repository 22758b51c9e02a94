/** A share 0..1 as whole percent. */
export const percent = (share: number): number => Math.round(share * 100);

/** Rounded to one decimal, for seconds and metres. */
export const tenths = (value: number): number => Math.round(value * 10) / 10;

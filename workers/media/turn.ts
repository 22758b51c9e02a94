/** Clockwise turn of a picture that was filmed sideways, in degrees. */
export type TurnDeg = 0 | 90 | 180 | 270;

/** ffmpeg filters that turn the picture clockwise. */
export function turnFilters(turnDeg: TurnDeg): string[] {
  return { 0: [], 90: ['transpose=clock'], 180: ['hflip', 'vflip'], 270: ['transpose=cclock'] }[turnDeg];
}

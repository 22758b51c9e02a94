import type { Facts } from './facts.ts';

const turns = { upright: 0, 'sideways-left': 90, 'sideways-right': 270, 'upside-down': 180 } as const;

/** How far the played picture has to be turned clockwise to stand upright, degrees; 0 where that is unknown. */
export const uprightTurnDeg = ({ orientation }: Pick<Facts, 'orientation'>): 0 | 90 | 180 | 270 =>
  orientation.known ? turns[orientation.value] : 0;

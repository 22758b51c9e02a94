import type { LiftData } from './lift-data.ts';

/** Bench press; azimuth 0 is the foot end. Views, heights and distances: common practice. */
export const bench: LiftData = {
  id: 'bench',
  names: [
    'bench',
    'benches',
    'benched',
    'benching',
    'bp',
    'bench press',
    'bench presses',
    'bench pressed',
    'close grip bench',
    'cgbp',
    'close grip',
    'incline bench',
    'incline bench press',
    'incline press',
    'incline',
    'decline bench',
    'decline press',
    'spoto press',
    'larsen press',
    'touch and go bench',
    'flat press',
  ],
  zones: [{ fromDeg: 22.5, toDeg: 67.5, aimDeg: 45 }],
  heightM: [1.5, 2.1],
  heights: { fix: ['floor'], advise: ['low', 'waist'] },
  distanceM: [2, 3.5],
  // Lying, the lifter fills little of the height.
  heightShare: { fix: 0.1, advise: 0.13 },
  parts: [
    { part: 'elbows', at: ['start', 'turn', 'lockout'], ifUnknown: 'unsure' },
    { part: 'hands', at: ['start', 'turn', 'lockout'], ifUnknown: 'unsure' },
    { part: 'feet', at: ['start', 'turn', 'lockout'], ifUnknown: 'unsure' },
    { part: 'bar', at: ['start', 'turn', 'lockout'], ifUnknown: 'ignore' },
  ],
  firstMove: 'down',
  shape: 'either',
};

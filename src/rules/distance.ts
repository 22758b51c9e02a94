import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { probabilityAbove } from './likelihood.ts';
import { percent, tenths } from './round.ts';

const Metres = z.number().positive().max(50);

/** Is the camera near enough? Far away with a large lifter (a long lens) is fine. */
export const distance = defineRule({
  id: 'distance',
  docs: 'The camera is near enough to see the lift, unless the lifter is large in the picture all the same.',
  severity: 'fix',
  importance: 62,
  options: z.strictObject({
    /** Distance to ask for, metres. */
    wantedM: z.tuple([Metres, Metres]).optional(),
    /** Further away than this is too far; 25 ft (7.6 m) is the trade's bad example (common practice), less a spread. */
    maxM: Metres.default(6),
    /** Nearer than this bends the picture; common practice. */
    minM: Metres.default(1.2),
    /** A lifter who fills this share of the picture's height is large enough from anywhere. Chosen: just above what the lifts advise. */
    largeShare: z.number().min(0).max(1).default(0.3),
    /** Smallest probability of too far for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    fixAt: z.number().min(0).max(1).default(0.9),
    /** The same for a word of advice. Chosen: more likely than not, with room. */
    adviseAt: z.number().min(0).max(1).default(0.7),
    /** Where the lift is not known, distance to ask for, metres: it suits each lift. Then only what is surely too far is spoken of. */
    anyLiftM: z.tuple([Metres, Metres]).default([2.5, 3.5]),
  }),
  messages: { 'too-far': ['distanceM', 'heightPercent', 'minM', 'maxM'], 'too-near': ['distanceM', 'minM', 'maxM'] },
  forLift: (lift) => ({ wantedM: [...lift.distanceM] as [number, number] }),
  notFor: ['bar-close-up'],
  quietAfter: ['lifter-size'],
  check({ facts, options }) {
    const { people } = facts;
    const measured = facts.camera.distanceM;
    if (people.known && people.value.lifterHeightShare >= options.largeShare && !measured.known) return pass;
    if (!measured.known) return cannotTell(measured.reason);
    const [minM, maxM] = options.wantedM ?? options.anyLiftM;
    const spread = measured.spread ?? measured.value * 0.2; // where none is stated; chosen
    const distanceM = tenths(measured.value);
    const far = probabilityAbove(measured.value, spread, options.maxM);
    if (options.wantedM === undefined && far < options.fixAt) return cannotTell('lift-unknown');
    if (1 - probabilityAbove(measured.value, spread, options.minM) >= options.fixAt)
      return advice('too-near', { distanceM, minM, maxM });
    if (far < options.adviseAt) return pass;
    if (!people.known) return cannotTell(people.reason);
    const share = people.value.lifterHeightShare;
    if (share >= options.largeShare) return pass;
    return (far >= options.fixAt ? found : advice)('too-far', { distanceM, heightPercent: percent(share), minM, maxM });
  },
});

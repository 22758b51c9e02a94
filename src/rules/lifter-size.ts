import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { probabilityAbove } from './likelihood.ts';
import { percent } from './round.ts';

const Share = z.number().min(0).max(1);

/** Is the lifter large enough in the picture to be seen on a phone, and not cut by its edges? */
export const lifterSize = defineRule({
  id: 'lifter-size',
  docs: 'The lifter is large enough in the picture.',
  severity: 'fix',
  importance: 60,
  options: z.strictObject({
    /** Share of the picture's height below which the clip is sent back. */
    fixBelow: Share.optional(),
    /** Share of the picture's height below which it is worth a word. */
    adviseBelow: Share.optional(),
    /** Share of the picture's height above which there is no room left for the bar and the way up. Chosen. */
    adviseAbove: z.number().min(0).default(0.95),
    /** Smallest probability of too small for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    fixAt: Share.default(0.9),
  }),
  messages: { 'too-small': ['heightPercent', 'minPercent'], 'too-close': ['heightPercent', 'maxPercent'] },
  forLift: (lift) => ({ fixBelow: lift.heightShare.fix, adviseBelow: lift.heightShare.advise }),
  notFor: ['bar-close-up'],
  quietAfter: ['distance', 'lifter-present'],
  check({ facts: { people }, options }) {
    if (!people.known) return cannotTell(people.reason);
    if (options.fixBelow === undefined || options.adviseBelow === undefined) return cannotTell('lift-unknown');
    const share = people.value.lifterHeightShare;
    const heightPercent = percent(share);
    if (share > options.adviseAbove) return advice('too-close', { heightPercent, maxPercent: percent(options.adviseAbove) });
    const small = { heightPercent, minPercent: percent(options.adviseBelow) };
    if (1 - probabilityAbove(share, people.spread ?? 0, options.fixBelow) >= options.fixAt && share < options.fixBelow)
      return found('too-small', small);
    return share < options.adviseBelow ? advice('too-small', small) : pass;
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

/** Does the clip hold one set only? */
export const oneSet = defineRule({
  id: 'one-set',
  docs: 'One set in a clip.',
  severity: 'advise',
  importance: 46,
  options: z.strictObject({
    /** A rest between two reps longer than this parts two sets, seconds. Chosen: rests between sets take minutes (common practice). */
    maxRestS: z.number().positive().max(600).default(60),
  }),
  messages: { 'several-sets': ['restS'] },
  notFor: ['setup-and-walk-out', 'bar-close-up'],
  check({ facts: { deadTime }, options }) {
    if (!deadTime.known) return cannotTell(deadTime.reason);
    const { longestRestS } = deadTime.value;
    return longestRestS > options.maxRestS ? found('several-sets', { restS: tenths(longestRestS) }) : pass;
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';

/** Is it plain who of the people in the picture lifts? */
export const oneLifter = defineRule({
  id: 'one-lifter',
  docs: 'Few enough people in the picture that the lifter is plain. Spotters are welcome.',
  severity: 'advise',
  importance: 40,
  options: z.strictObject({
    /** People besides the lifter that are fine. Chosen: a spotter at each end of the bar and one behind (common practice). */
    maxOthers: z.int().min(0).max(50).default(3),
  }),
  messages: { 'several-people': ['count'] },
  check({ facts, options }) {
    const { people } = facts;
    if (!people.known) return cannotTell(people.reason);
    const { count } = people.value;
    const mixedUp = [facts.lift, facts.reps, facts.view].some((fact) => !fact.known && fact.reason === 'lifter-unclear');
    return count - 1 > options.maxOthers || (count > 1 && mixedUp) ? found('several-people', { count }) : pass;
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';

/** Is there a lift at all? */
export const liftInClip = defineRule({
  id: 'lift-in-clip',
  docs: 'The clip shows at least one rep.',
  severity: 'fix',
  importance: 90,
  options: z.strictObject({
    /**
     * Smallest probability that there is no rep for sending the clip back, and that another lift, whose reps are not counted, is done. Chosen: a wrong
     * fix costs more than a missed one.
     */
    minConfidence: z.number().min(0).max(1).default(0.9),
  }),
  messages: { 'no-rep': [] },
  notFor: ['bar-close-up', 'setup-and-walk-out'],
  check({ facts: { reps, lift }, options: { minConfidence } }) {
    const isOther = lift.known && lift.value === 'other' && (lift.confidence ?? 1) >= minConfidence;
    if (!reps.known) return isOther ? pass : cannotTell(reps.reason);
    if (reps.value.length > 0) return pass;
    return (reps.confidence ?? 1) >= minConfidence ? found('no-rep', {}) : cannotTell('no-lift');
  },
});

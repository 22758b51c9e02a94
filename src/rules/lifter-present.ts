import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';

/** Is there anybody to coach? */
export const lifterPresent = defineRule({
  id: 'lifter-present',
  docs: 'There is a lifter in the picture.',
  severity: 'fix',
  importance: 100,
  options: z.strictObject({
    /** Smallest probability that the picture is empty. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.9),
  }),
  messages: { 'no-lifter': [] },
  check({ facts: { people }, options }) {
    if (!people.known) return people.reason === 'no-lifter' ? found('no-lifter', {}) : cannotTell(people.reason);
    if (people.value.count > 0) return pass;
    return (people.confidence ?? 1) >= options.minConfidence ? found('no-lifter', {}) : cannotTell('lifter-unclear');
  },
});

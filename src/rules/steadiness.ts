import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { finePercent } from './round.ts';

/** Does the camera stand still? */
export const steadiness = defineRule({
  id: 'steadiness',
  docs: 'The camera stands still: on a tripod, not in a moving hand. Relaxed for a close-up that a coach asked for.',
  severity: 'fix',
  importance: 52,
  options: z.strictObject({
    /** A moving camera is sent back from this movement on, share of the picture's width a second. */
    fixAboveShare: z.number().min(0).default(0),
    /** Smallest probability of a moving camera for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.8),
    /** Whether a phone that is leaned on something or held still is worth a word. */
    adviseTripod: z.boolean().default(true),
  }),
  messages: { moving: ['percentPerS'], 'propped-or-held': ['percentPerS'] },
  check({ facts, options, request }) {
    const seen = facts.steadiness;
    if (!seen.known) return cannotTell(seen.reason);
    const closeUp = request?.view === 'bar-close-up';
    const percentPerS = finePercent(seen.value.rmsPerS);
    if (seen.value.class === 'moving') {
      const sure = !closeUp && seen.value.rmsPerS >= options.fixAboveShare && (seen.confidence ?? 1) >= options.minConfidence;
      return (sure ? found : advice)('moving', { percentPerS });
    }
    if (seen.value.class === 'propped-or-held' && options.adviseTripod && !closeUp)
      return advice('propped-or-held', { percentPerS });
    return pass;
  },
});

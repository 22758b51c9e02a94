import { z } from 'zod';
import { advice, defineRule, found, pass } from './define.ts';

/** Is it plain which lift this is? */
export const liftKnown = defineRule({
  id: 'lift-known',
  docs: 'The lift can be told from the picture or the caption.',
  severity: 'advise',
  importance: 38,
  options: z.strictObject({
    /** Smallest probability at which the measured lift is believed without a caption. Chosen: four times in five. */
    sureConfidence: z.number().min(0).max(1).default(0.8),
    /** Smallest probability at which it is believed against the caption. Chosen: a person wrote the caption. */
    overruleConfidence: z.number().min(0).max(1).default(0.9),
  }),
  messages: { 'lift-unknown': [], 'other-lift': [] },
  check({ facts: { lift: measured, caption }, lift, options }) {
    if (lift !== null) return pass;
    const seen = measured.known && measured.value === 'other' && (measured.confidence ?? 1) >= options.sureConfidence;
    const named = caption.known && caption.value.lift === 'other';
    return seen || named ? advice('other-lift', {}) : found('lift-unknown', {});
  },
});

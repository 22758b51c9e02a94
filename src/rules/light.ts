import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { percent } from './round.ts';

/** Is there light enough to see the lifter? */
export const light = defineRule({
  id: 'light',
  docs: 'There is light enough, and it does not come from behind the lifter.',
  severity: 'fix',
  importance: 56,
  options: z.strictObject({
    /** Smallest probability of darkness for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.8),
    /** A picture brighter than this (mean, 0..1) is never sent back as dark. Chosen: a guard on the measurement. */
    maxMean: z.number().min(0).max(1).default(0.35),
  }),
  messages: { dark: ['meanPercent'], backlit: ['meanPercent'] },
  check({ facts, options }) {
    const seen = facts.light;
    if (!seen.known) return cannotTell(seen.reason);
    const { mean, dark, backlit } = seen.value;
    const meanPercent = percent(mean);
    if (dark)
      return ((seen.confidence ?? 1) >= options.minConfidence && mean <= options.maxMean ? found : advice)('dark', {
        meanPercent,
      });
    return backlit ? advice('backlit', { meanPercent }) : pass;
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { percent } from './round.ts';

/** Is the picture sharp? */
export const sharpness = defineRule({
  id: 'sharpness',
  docs: 'The picture is in focus and the lens is clean.',
  severity: 'advise',
  importance: 28,
  options: z.strictObject({
    /** Smallest sharpness, 0 (blurred) to 1 (crisp). */
    min: z.number().min(0).max(1).default(0.15),
  }),
  messages: { blurred: ['sharpPercent', 'minPercent'] },
  check({ facts, options }) {
    const seen = facts.sharpness;
    if (!seen.known) return cannotTell(seen.reason);
    const surelyBelow = seen.value + (seen.spread ?? 0) < options.min;
    return surelyBelow ? found('blurred', { sharpPercent: percent(seen.value), minPercent: percent(options.min) }) : pass;
  },
});

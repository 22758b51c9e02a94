import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

/** Is the lift shown in one piece? */
export const cuts = defineRule({
  id: 'cuts',
  docs: 'The lift is shown without a cut.',
  severity: 'fix',
  importance: 92,
  options: z.strictObject({
    /** Smallest probability that the cuts are real for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.9),
  }),
  messages: { 'cut-inside': ['count', 'atS'], 'cut-outside': ['count', 'atS'] },
  check({ facts, options }) {
    const seen = facts.cuts;
    if (!seen.known) return cannotTell(seen.reason);
    const [first] = seen.value;
    if (first === undefined) return pass;
    const sure = (seen.confidence ?? 1) >= options.minConfidence;
    const window = facts.liftWindow;
    if (!window.known) return (sure ? found : advice)('cut-inside', { count: seen.value.length, atS: tenths(first) });
    const inside = seen.value.filter((atS) => atS > window.value.startS && atS < window.value.endS);
    const [firstInside] = inside;
    if (firstInside === undefined) return advice('cut-outside', { count: seen.value.length, atS: tenths(first) });
    return (sure ? found : advice)('cut-inside', { count: inside.length, atS: tenths(firstInside) });
  },
});

import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { percent } from './round.ts';

/** Does something in the foreground hide the lifter? Safety pins and spotter arms are never foreground. */
export const obstruction = defineRule({
  id: 'obstruction',
  docs: 'Nothing in the foreground stands before the lifter. Safety pins and spotter arms stay where they are.',
  severity: 'fix',
  importance: 70,
  options: z.strictObject({
    /** Share of the lifter's height that is covered from which the clip is sent back. Chosen: feet and half of the shins. */
    fixAtShare: z.number().min(0).max(1).default(0.12),
    /** The same for a word of advice. Chosen: half of it. */
    adviseAtShare: z.number().min(0).max(1).default(0.06),
    /** Smallest probability of an obstruction for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.8),
  }),
  messages: { 'across-bottom': ['percent'], 'over-lifter': ['percent'] },
  notFor: ['bar-close-up'],
  check({ facts, options }) {
    const seen = facts.obstruction;
    if (!seen.known) return cannotTell(seen.reason);
    const { kind, share } = seen.value;
    if (kind === 'none' || share < options.adviseAtShare) return pass;
    const sure = share >= options.fixAtShare && (seen.confidence ?? 1) >= options.minConfidence;
    return (sure ? found : advice)(kind === 'bottom' ? 'across-bottom' : 'over-lifter', { percent: percent(share) });
  },
});

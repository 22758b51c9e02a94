import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';

/** Does the clip show what the caption says? */
export const asCaptioned = defineRule({
  id: 'as-captioned',
  docs: 'The clip shows the lift and the reps that the caption names.',
  severity: 'advise',
  importance: 36,
  options: z.strictObject({
    /** Smallest probability at which the measured lift contradicts the caption. Chosen: who wrote it was there. */
    minConfidence: z.number().min(0).max(1).default(0.9),
    /** Difference in reps from which it is worth a word; one rep is easily miscounted. */
    minRepDifference: z.int().min(1).max(100).default(2),
  }),
  messages: { 'other-than-captioned': ['captioned', 'measured'], 'reps-differ': ['captioned', 'measured'] },
  notFor: ['setup-and-walk-out', 'bar-close-up'],
  check({ facts: { caption, lift, reps }, options }) {
    // Nothing was said, so nothing can be contradicted.
    if (!caption.known) return pass;
    if (caption.value.lift !== null) {
      if (!lift.known) return cannotTell(lift.reason);
      const differs = lift.value !== caption.value.lift && (lift.confidence ?? 1) >= options.minConfidence;
      if (differs) return found('other-than-captioned', { captioned: caption.value.lift, measured: lift.value });
    }
    if (caption.value.reps === null) return pass;
    if (!reps.known) return cannotTell(reps.reason);
    const measured = reps.value.length;
    const differs =
      // 0.5, chosen: a count that is rather wrong than right says nothing
      Math.abs(measured - caption.value.reps) >= options.minRepDifference && (reps.confidence ?? 1) >= 0.5 && measured > 0;
    return differs ? found('reps-differ', { captioned: caption.value.reps, measured }) : pass;
  },
});

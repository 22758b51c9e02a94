import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

const Seconds = z.number().min(0).max(600);

/** Is the clip as long as its reps need, and whole at both ends? What lies before and after the lift is for the dead-time rule. */
export const clipLength = defineRule({
  id: 'clip-length',
  docs: 'The lift takes a sensible time for its reps, and the clip starts before the first and ends after the last.',
  severity: 'advise',
  importance: 30,
  options: z.strictObject({
    /** Longest lift: this many seconds ... Chosen: a breath or two before and after the set. */
    baseS: Seconds.default(15),
    /** ... and this many for each rep. Chosen: a slow rep with a rest before it (common practice). */
    perRepS: Seconds.default(12),
    /** A rep that starts or ends nearer than this to the clip's own start or end is cut off, seconds: a frame or two. */
    edgeS: Seconds.default(0.1),
  }),
  messages: { 'long-for-reps': ['durationS', 'reps', 'maxS'], 'starts-mid-rep': [], 'ends-mid-rep': [] },
  notFor: ['setup-and-walk-out', 'bar-close-up'],
  check({ facts: { reps, liftWindow, deadTime }, options }) {
    if (!reps.known) return cannotTell(reps.reason);
    if (!liftWindow.known) return cannotTell(liftWindow.reason);
    if (!deadTime.known) return cannotTell(deadTime.reason);
    if (reps.value.length === 0) return pass;
    const durationS = liftWindow.value.endS - liftWindow.value.startS;
    const maxS = options.baseS + options.perRepS * reps.value.length;
    if (durationS > maxS)
      return found('long-for-reps', { durationS: tenths(durationS), reps: reps.value.length, maxS: tenths(maxS) });
    if (deadTime.value.leadInS < options.edgeS) return found('starts-mid-rep', {});
    return deadTime.value.tailS < options.edgeS ? found('ends-mid-rep', {}) : pass;
  },
});

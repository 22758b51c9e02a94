import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

const Seconds = z.number().min(0).max(600);

/** Is the clip trimmed to the lift? The bot can cut what is before and after, so alone it never sends a clip back. */
export const deadTime = defineRule({
  id: 'dead-time',
  docs: 'Little time before, after and between the reps. What is before and after is cut by the bot.',
  severity: 'fix',
  importance: 48,
  options: z.strictObject({
    /** Seconds before the first rep that are fine: unracking and walking out (common practice). */
    maxLeadInS: Seconds.default(8),
    /** Seconds after the last rep that are fine: walking in and racking (common practice). */
    maxTailS: Seconds.default(6),
    /** Seconds between two reps that are fine. Chosen: some breaths. */
    maxRestS: Seconds.default(20),
    /** Seconds kept before and after the lift when the clip is cut. Chosen: the eye needs a moment. */
    marginS: Seconds.default(1.5),
  }),
  messages: {
    'lead-in': ['leadInS', 'maxS'],
    tail: ['tailS', 'maxS'],
    'both-ends': ['leadInS', 'tailS', 'maxS'],
    'rest-between': ['restS', 'maxS'],
  },
  notFor: ['setup-and-walk-out', 'bar-close-up'],
  quietAfter: ['lift-in-clip'],
  check({ facts, options }) {
    const seen = facts.deadTime;
    if (!seen.known) return cannotTell(seen.reason);
    const { leadInS, tailS, longestRestS } = seen.value;
    const spread = seen.spread ?? 0;
    const early = leadInS > options.maxLeadInS;
    const late = tailS > options.maxTailS;
    const sure = leadInS - spread > options.maxLeadInS || tailS - spread > options.maxTailS;
    const say = sure ? found : advice;
    if (early && late)
      return say('both-ends', {
        leadInS: tenths(leadInS),
        tailS: tenths(tailS),
        maxS: tenths(Math.max(options.maxLeadInS, options.maxTailS)),
      });
    if (early) return say('lead-in', { leadInS: tenths(leadInS), maxS: tenths(options.maxLeadInS) });
    if (late) return say('tail', { tailS: tenths(tailS), maxS: tenths(options.maxTailS) });
    if (longestRestS > options.maxRestS)
      return advice('rest-between', { restS: tenths(longestRestS), maxS: tenths(options.maxRestS) });
    return pass;
  },
});

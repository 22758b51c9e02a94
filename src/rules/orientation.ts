import { z } from 'zod';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';

/** Does the clip play the right way up? */
export const orientation = defineRule({
  id: 'orientation',
  docs: 'The clip plays the right way up.',
  severity: 'fix',
  importance: 96,
  options: z.strictObject({
    /** Smallest probability of a wrong orientation for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.9),
  }),
  messages: { sideways: ['head', 'turnDeg'], 'upside-down': ['turnDeg'] },
  check({ facts, options }) {
    const seen = facts.orientation;
    if (!seen.known) return cannotTell(seen.reason);
    if (seen.value === 'upright') return pass;
    const say = (seen.confidence ?? 1) >= options.minConfidence ? found : advice;
    if (seen.value === 'upside-down') return say('upside-down', { turnDeg: 180 });
    // A head that points left comes upright by a quarter turn clockwise.
    return seen.value === 'sideways-left'
      ? say('sideways', { head: 'left', turnDeg: 90 })
      : say('sideways', { head: 'right', turnDeg: 270 });
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

/** Are there enough frames a second to see the bar move? */
export const frameRate = defineRule({
  id: 'frame-rate',
  docs: 'Enough frames a second to see the movement.',
  severity: 'advise',
  importance: 24,
  options: z.strictObject({
    /** Smallest frame rate; phones record 30, chat services may halve it (from memory). */
    minFps: z.number().positive().max(240).default(15),
  }),
  messages: { 'low-frame-rate': ['fps', 'minFps'] },
  check({ facts: { clip }, options }) {
    if (!clip.known) return cannotTell(clip.reason);
    // Containers round: 14.99 is 15.
    if (clip.value.fps > options.minFps - 0.1) return pass;
    return found('low-frame-rate', { fps: tenths(clip.value.fps), minFps: options.minFps });
  },
});

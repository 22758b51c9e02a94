import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { tenths } from './round.ts';

/** Does the clip run at the speed of the lift? */
export const playbackSpeed = defineRule({
  id: 'playback-speed',
  docs: 'The clip runs at normal speed: neither slow motion nor sped up.',
  severity: 'advise',
  importance: 44,
  options: z.strictObject({
    /** No barbell rep down and up is quicker than this, seconds; common practice. */
    minRepS: z.number().positive().max(5).default(0.7),
  }),
  messages: { 'slow-motion': ['fps'], 'sped-up': ['repS', 'minRepS'] },
  check({ facts: { clip, reps }, options }) {
    if (clip.known && clip.value.slowMotion) return found('slow-motion', { fps: Math.round(clip.value.fps) });
    if (!clip.known) return cannotTell(clip.reason);
    if (!reps.known) return cannotTell(reps.reason);
    const lengths = reps.value.map(({ startS, endS }) => endS - startS).sort((a, b) => a - b);
    const repS = lengths[Math.floor(lengths.length / 2)];
    if (repS === undefined || repS >= options.minRepS) return pass;
    return found('sped-up', { repS: tenths(repS), minRepS: tenths(options.minRepS) });
  },
});

import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';

/** Has the picture enough pixels? */
export const resolution = defineRule({
  id: 'resolution',
  docs: 'The picture has enough pixels to see joints and bar.',
  severity: 'advise',
  importance: 26,
  options: z.strictObject({
    /** Smallest short side of the picture, px. Chosen: 360p, to which chat services shrink at the worst (from memory). */
    minShortSidePx: z.int().min(1).max(4320).default(360),
  }),
  messages: { 'low-resolution': ['widthPx', 'heightPx', 'minPx'] },
  check({ facts: { clip }, options }) {
    if (!clip.known) return cannotTell(clip.reason);
    const { widthPx, heightPx } = clip.value;
    return Math.min(widthPx, heightPx) < options.minShortSidePx
      ? found('low-resolution', { widthPx, heightPx, minPx: options.minShortSidePx })
      : pass;
  },
});

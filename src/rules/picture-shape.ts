import { z } from 'zod';
import { cannotTell, defineRule, found, pass } from './define.ts';
import { percent } from './round.ts';

/** Is the phone held the way that lets the lifter fill the picture? */
export const pictureShape = defineRule({
  id: 'picture-shape',
  docs: 'Portrait or landscape as the lift needs it, unless the lifter fills the picture all the same.',
  severity: 'advise',
  importance: 22,
  options: z.strictObject({
    /** How to hold the phone. */
    shape: z.enum(['portrait', 'landscape', 'either']).optional(),
    /** A lifter who fills this share of the picture's height is large enough either way. Chosen: half the picture. */
    largeShare: z.number().min(0).max(1).default(0.5),
  }),
  messages: {
    'portrait-better': ['widthPx', 'heightPx', 'heightPercent'],
    'landscape-better': ['widthPx', 'heightPx', 'heightPercent'],
  },
  forLift: (lift) => ({ shape: lift.shape }),
  notFor: ['bar-close-up', 'setup-and-walk-out'],
  check({ facts: { clip, people }, options }) {
    if (options.shape === undefined) return cannotTell('lift-unknown');
    if (!clip.known) return cannotTell(clip.reason);
    const { widthPx, heightPx } = clip.value;
    const wrong = (options.shape === 'portrait' && widthPx > heightPx) || (options.shape === 'landscape' && heightPx > widthPx);
    if (!wrong) return pass;
    if (!people.known) return cannotTell(people.reason);
    const share = people.value.lifterHeightShare;
    if (share >= options.largeShare) return pass;
    return found(options.shape === 'portrait' ? 'portrait-better' : 'landscape-better', {
      widthPx,
      heightPx,
      heightPercent: percent(share),
    });
  },
});

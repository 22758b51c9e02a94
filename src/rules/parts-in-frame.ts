import { z } from 'zod';
import { Moment, Part, type PartFacts } from '../facts/facts.ts';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { percent } from './round.ts';

const Needed = z.strictObject({ part: Part, at: z.array(Moment), ifUnknown: z.enum(['unsure', 'ignore']) });

/** Is each part of the body that the coach must see in the picture through the whole lift? */
export const partsInFrame = defineRule({
  id: 'parts-in-frame',
  docs: 'Each part that this lift needs stays inside the picture through the whole lift.',
  severity: 'fix',
  importance: 74,
  options: z.strictObject({
    /** Parts that must be seen, and the moments of a rep that count. */
    parts: z.array(Needed).optional(),
    /** Largest share of the lift in which a part may be outside the picture. Chosen. */
    maxOutsideShare: z.number().min(0).max(1).default(0.15),
    /** A part in the picture that is seen for a smaller share of the lift is worth a word. Chosen. */
    minSeenShare: z.number().min(0).max(1).default(0.25),
    /** Smallest probability that the part is lost for sending the clip back. Chosen: a wrong fix costs more than a missed one. */
    minConfidence: z.number().min(0).max(1).default(0.8),
  }),
  messages: {
    'part-lost': ['part', 'moment', 'outsidePercent'],
    'parts-lost': ['parts', 'moment', 'outsidePercent'],
    'part-outside': ['part', 'outsidePercent'],
    'part-hidden': ['part', 'hiddenPercent'],
  },
  forLift: (lift) => ({ parts: lift.parts.map((needed) => ({ ...needed, at: [...needed.at] })) }),
  notFor: ['bar-close-up', 'setup-and-walk-out'],
  check({ facts, options }) {
    if (options.parts === undefined) return cannotTell('lift-unknown');
    const lost: { part: Part; value: PartFacts; moment: Moment | undefined; sure: boolean }[] = [];
    let hidden: { part: Part; value: PartFacts } | undefined;
    let untold: string | undefined;
    for (const { part, at, ifUnknown } of options.parts) {
      const fact = facts.inFrame[part];
      if (!fact.known) {
        if (ifUnknown === 'unsure') untold ??= fact.reason;
        continue;
      }
      const { value, confidence = 1 } = fact;
      const moment = at.find((m) => value.lostAt.includes(m));
      if (moment !== undefined || value.outsideShare > options.maxOutsideShare) {
        lost.push({ part, value, moment, sure: confidence >= options.minConfidence });
      } else if (
        value.share < options.minSeenShare &&
        ifUnknown === 'unsure' &&
        (hidden === undefined || value.share < hidden.value.share)
      ) {
        hidden = { part, value };
      }
    }
    const sure = lost.filter((each) => each.sure);
    const said = sure.length > 0 ? sure : lost;
    const worst = said.toSorted((a, b) => b.value.outsideShare - a.value.outsideShare)[0];
    if (worst !== undefined && (sure.length > 0 || untold === undefined)) {
      const say = sure.length > 0 ? found : advice;
      const outsidePercent = percent(worst.value.outsideShare);
      const moment = worst.moment ?? said.find((each) => each.moment !== undefined)?.moment;
      if (moment === undefined) return say('part-outside', { part: worst.part, outsidePercent });
      if (said.length === 1) return say('part-lost', { part: worst.part, moment, outsidePercent });
      return say('parts-lost', { parts: said.map((each) => each.part).join(','), moment, outsidePercent });
    }
    if (untold !== undefined) return cannotTell(untold);
    if (hidden !== undefined) return advice('part-hidden', { part: hidden.part, hiddenPercent: percent(1 - hidden.value.share) });
    return pass;
  },
});

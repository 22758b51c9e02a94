import type { BotDeps } from '../bot/deps.ts';
import type { LiftId } from '../facts/facts.ts';
import { liftAsSet } from '../judge/lift-as-set.ts';
import { liftOf } from '../lifts/index.ts';
import { cameraPlacement } from '../pictures/camera-placement.ts';
import { clipTimeline } from '../pictures/clip-timeline.ts';
import { contactSheet } from '../pictures/contact-sheet.ts';
import { filmingGuide } from '../pictures/filming-guide.ts';
import { speedChart } from '../pictures/speed-chart.ts';
import { messageTemplate, type RulesSettings } from '../rules/settings.ts';
import { wordCard } from '../wording/card.ts';
import { wordProgress, wordUploadInstead, wordWaiting } from '../wording/progress.ts';
import { wordError, wordReply } from '../wording/reply.ts';
import { WordingError } from '../wording/template.ts';

/** Language that people are answered in. */
export const language = 'en';

/** All sentences of the bot, with the moderators' own words where the rules file has them. */
export function wordsOf(rules: () => RulesSettings, log: BotDeps['log']): BotDeps['words'] {
  return {
    reply(judgement, facts, options) {
      const messageOverrides = (rule: string, message: string) => messageTemplate(rules(), rule, message, judgement.lift);
      try {
        return wordReply(judgement, facts, { language, ...options, messageOverrides }).text;
      } catch (error) {
        if (!(error instanceof WordingError)) throw error;
        log.error({ error: error.message }, 'a message of the rules cannot be filled in, the built-in words are used');
        return wordReply(judgement, facts, { language, ...options }).text;
      }
    },
    better: (before, after) => wordProgress(before, after, language).text,
    error(code) {
      try {
        return wordError(code, language);
      } catch (error) {
        if (!(error instanceof WordingError)) throw error;
        log.error({ code }, 'an error without words');
        return wordError('worker-died', language);
      }
    },
    uploadInstead: () => wordUploadInstead(language),
    waiting: (state) => wordWaiting(state, language),
    card: (judgement, facts, options) => wordCard(judgement, facts, { language, ...options }).text,
  };
}

/** All pictures of the bot; where to stand is drawn by the places that the rules accept. */
export function drawOf(rules: () => RulesSettings): BotDeps['draw'] {
  const zonesFor = (lift: LiftId | null) => {
    const data = liftOf(lift);
    return data === null ? {} : { zones: liftAsSet(data, rules()).zones };
  };
  return {
    guide: (lift) => filmingGuide(lift, { language }),
    speeds: (set, earlier) => speedChart(set, { language, ...(earlier === null ? {} : { earlier }) }),
    placement: (judgement, facts) => cameraPlacement(judgement, facts, { language, ...zonesFor(judgement.lift) }),
    timeline: (judgement, facts) => clipTimeline(judgement, facts, { language }),
    sheet: (stills, lift) => contactSheet(stills, { language, lift }),
  };
}

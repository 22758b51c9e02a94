import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import { languageOf } from './index.ts';
import { roundTo } from './numbers.ts';
import { seenOf, wordUnknowns } from './reply.ts';

/** Load from the caption in words; null when none is stated. */
export function wordLoad(facts: Facts, language: string): string | null {
  const caption = facts.caption.known ? facts.caption.value : null;
  return caption?.loadKg ? languageOf(language).card.load(caption.loadKg, caption.loadUnit ?? 'kg') : null;
}

/** A card's first line, in bold: who, lift, load and reps. */
export function wordCardTitle(judgement: Judgement, facts: Facts, options: { language: string; name: string | null }): string {
  const caption = facts.caption.known ? facts.caption.value : null;
  const { reps } = seenOf(judgement, facts);
  const loadText = wordLoad(facts, options.language);
  const { card } = languageOf(options.language);
  return card.title({ name: options.name, lift: judgement.lift, loadText, reps: reps ?? caption?.reps ?? null });
}

/**
 * The coach's card of a clip in the project's small markup: who, lift, load and reps, the view in words, the time of each rep, what
 * was asked and what could not be told. Rep times are those of the clip that goes with the card: `startsAtS` is where a trimmed one begins.
 */
export function wordCard(
  judgement: Judgement,
  facts: Facts,
  options: { language: string; name: string | null; startsAtS: number; threadUrl?: string | null },
): { text: string } {
  const language = languageOf(options.language);
  const { card } = language;
  const caption = facts.caption.known ? facts.caption.value : null;
  const seen = seenOf(judgement, facts);
  const reps = facts.reps.known ? facts.reps.value : null;
  const shift = (timeS: number) => Math.max(0, timeS - options.startsAtS);
  const view = seen.place === null ? null : language.view(seen.place, judgement.lift);
  const degrees = facts.view.known ? roundTo(Math.abs(facts.view.value.azimuthDeg), 5) : null;
  return {
    text: [
      wordCardTitle(judgement, facts, options),
      card.view(view, degrees),
      reps && reps.length > 0
        ? card.reps(reps.map(({ startS, endS }) => ({ startS: shift(startS), endS: shift(endS) })))
        : card.repsUnknown,
      ...(caption?.question ? [card.asked(caption.question)] : []),
      ...(judgement.cannotTell.length > 0 ? [card.unsure(wordUnknowns(judgement.cannotTell, language.forCoaches))] : []),
      ...(options.threadUrl ? [card.thread(options.threadUrl)] : []),
    ].join('\n'),
  };
}

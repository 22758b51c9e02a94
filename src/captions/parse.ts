import { type Fact, known, unknown } from '../facts/fact.ts';
import type { CaptionFacts } from '../facts/facts.ts';
import { amountsOf } from './amounts.ts';
import { liftNamed } from './lift-named.ts';
import { plainText, type Token, tokensOf } from './tokens.ts';

/** Exact by the international yard and pound agreement of 1959. */
const kgPerPound = 0.45359237;

/** Longest question that is kept, characters. Chosen: a few sentences, and the card stays readable. */
const longestQuestion = 400;

/** Heaviest load that is believed, kg; above any barbell record. */
const heaviestKg = 650;

function loadKgOf(value: number, unit: 'kg' | 'lb'): number | null {
  const kg = unit === 'kg' ? value : value * kgPerPound;
  return kg > 0 && kg <= heaviestKg ? kg : null;
}

/** Words for the lift's name: a hyphen joins ("push-press"), any other sign or number parts. */
function wordsOf(tokens: readonly Token[]): string[] {
  return tokens
    .filter((token) => token.kind !== 'sign' || token.text !== '-')
    .map((token) => (token.kind === 'word' ? token.text : ''));
}

function countOf(value: number | null, most: number): number | null {
  return value !== null && Number.isInteger(value) && value >= 1 && value <= most ? value : null;
}

/** All sentences that end with a question mark, joined; a full stop ends a sentence only before a space. */
function questionOf(text: string): string | null {
  const asked: string[] = [];
  let from = 0;
  for (const match of text.matchAll(/[?!]+|\n|\.(?=\s|$)/g)) {
    const sentence = text.slice(from, match.index).replace(/\s+/g, ' ').trim();
    if (match[0].includes('?') && sentence !== '') asked.push(`${sentence}?`);
    from = match.index + match[0].length;
  }
  const question = asked.join(' ');
  if (question === '') return null;
  return question.length <= longestQuestion
    ? question
    : `${[...question.slice(0, longestQuestion)].slice(0, -1).join('').trimEnd()}…`;
}

/**
 * Reads a caption: lift, load, reps, sets, RPE and what was asked; unknown (`not-stated`) when it states none of them.
 * A load without a unit counts only when the community has a usual one (`unitWhenSilent`), which is then taken as typed.
 * Takes time linear in the text's length.
 */
export function parseCaption(
  caption: string,
  { unitWhenSilent = null }: { unitWhenSilent?: 'kg' | 'lb' | null } = {},
): Fact<CaptionFacts> {
  const text = plainText(caption);
  const tokens = tokensOf(text);
  const { load, reps, sets, rpe } = amountsOf(tokens);
  const unit = load === null ? null : (load.unit ?? unitWhenSilent);
  const loadKg = load === null || unit === null ? null : loadKgOf(load.value, unit);
  const read: CaptionFacts = {
    lift: liftNamed(wordsOf(tokens)),
    loadKg,
    loadUnit: loadKg === null ? null : unit,
    reps: countOf(reps, 100),
    sets: countOf(sets, 50), // above this it is no count of sets; chosen
    rpe,
    question: questionOf(text),
  };
  return Object.values(read).some((value) => value !== null) ? known(read) : unknown('not-stated');
}

import type { LiftId } from '../facts/facts.ts';
import { lifts, otherNames } from '../lifts/index.ts';

/** All names people type, as words, to the lift that they mean. */
const byName = new Map<string, LiftId>([
  ...lifts.flatMap((lift) => lift.names.map((name) => [name, lift.id] as const)),
  ...otherNames.map((name) => [name, 'other'] as const),
]);

const longestName = Math.max(...[...byName.keys()].map((name) => name.split(' ').length));

/**
 * The lift that a caption names: at each place the longest name wins ("hang clean" before "clean"). Null when none is named, or
 * when two different ones are, since then it is not plain which the clip shows.
 * @param words lower-case words and numbers in order; an empty string where punctuation parts a phrase.
 */
export function liftNamed(words: readonly string[]): LiftId | null {
  let named: LiftId | null = null;
  for (let at = 0; at < words.length; ) {
    const { lift, length } = longestAt(words, at);
    if (lift !== null && named !== null && lift !== named) return null;
    named ??= lift;
    at += length;
  }
  return named;
}

function longestAt(words: readonly string[], at: number): { lift: LiftId | null; length: number } {
  for (let length = Math.min(longestName, words.length - at); length > 0; length--) {
    const lift = byName.get(words.slice(at, at + length).join(' '));
    if (lift !== undefined) return { lift, length };
  }
  return { lift: null, length: 1 };
}

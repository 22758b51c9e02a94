import type { Token } from './tokens.ts';

/** Load, reps, sets and RPE as typed; null where not stated. */
export interface Amounts {
  load: { value: number; unit: 'kg' | 'lb' | null } | null;
  reps: number | null;
  sets: number | null;
  rpe: number | null;
}

const kgWords = new Set(['kg', 'kgs', 'kilo', 'kilos', 'kilogram', 'kilograms', 'kilogramme', 'kilogrammes']);
const lbWords = new Set(['lb', 'lbs', 'pound', 'pounds', '#']);
const repWords = new Set(['rep', 'reps', 'rm']);
const setWords = new Set(['set', 'sets']);
const countWords: Record<string, number> = { single: 1, double: 2, triple: 3 };
const bodyWords = new Set(['bw', 'bodyweight', 'body', 'weigh', 'weighing', 'weight:']);

/** Reps above this are no set of a barbell lift, so a number above it beside a times sign is a load; common practice. */
const mostReps = 20;

type Numbered = Extract<Token, { kind: 'number' }>;
type Term = { value: number; unit: 'kg' | 'lb' | null; percent: boolean; first: number; next: number };

function textOf(token: Token | undefined): string {
  return token === undefined || token.kind === 'number' ? '' : token.text;
}

/** A number with its unit; null when token `at` is not a number that could count something (a time, a date, a hashtag, part of a name). */
function termAt(tokens: readonly Token[], at: number): Term | null {
  const token = tokens[at];
  if (token?.kind !== 'number' || !Number.isFinite(token.value) || token.value > 2000) return null;
  if (isPartOfMore(tokens, at, token)) return null;
  const unitText = textOf(tokens[at + 1]);
  const hash = unitText === '#' && tokens[at + 1]!.at === token.end && !followsAtOnce(tokens, at + 1);
  if (kgWords.has(unitText)) return { value: token.value, unit: 'kg', percent: false, first: at, next: at + 2 };
  if (lbWords.has(unitText) && (unitText !== '#' || hash))
    return { value: token.value, unit: 'lb', percent: false, first: at, next: at + 2 };
  return { value: token.value, unit: null, percent: unitText === '%', first: at, next: at + 1 };
}

function followsAtOnce(tokens: readonly Token[], at: number): boolean {
  const next = tokens[at + 1];
  return next !== undefined && next.kind !== 'sign' && next.at === tokens[at]!.end;
}

/** Touching `:`, `/` or `-` and another number on either side: a time, a date or a range. */
function isPartOfMore(tokens: readonly Token[], at: number, token: Numbered): boolean {
  const joins = (sign: Token | undefined, far: Token | undefined) =>
    sign?.kind === 'sign' &&
    (sign.text === ':' || sign.text === '/' || sign.text === '-' || sign.text === '.') &&
    far?.kind === 'number';
  const before = tokens[at - 1];
  const after = tokens[at + 1];
  return (joins(before, tokens[at - 2]) && before!.end === token.at) || (joins(after, tokens[at + 2]) && after!.at === token.end);
}

const isTimes = (token: Token | undefined) => textOf(token) === 'x' || textOf(token) === '*';

/** A run of terms joined by times signs, "3x5x100kg". */
function productAt(tokens: readonly Token[], at: number): Term[] {
  const terms: Term[] = [];
  for (let next = at; terms.length < 4; ) {
    const term = termAt(tokens, next);
    if (term === null) break;
    terms.push(term);
    if (!isTimes(tokens[term.next])) break;
    next = term.next + 1;
  }
  return terms;
}

/**
 * What a product means by trade custom: with a load in front, load x reps x sets; with the load behind or none, sets x reps (x load).
 */
function meaningOf(terms: readonly Term[]): Partial<Amounts> {
  const isLoad = (term: Term) => term.unit !== null || term.value > mostReps;
  const [a, b, c] = terms;
  if (a === undefined || terms.some((term) => term.percent)) return {};
  if (b === undefined) return a.unit === null ? {} : { load: a };
  if (isLoad(a)) {
    if (isLoad(b)) return { load: a };
    return { load: a, reps: b.value, ...(c === undefined || isLoad(c) ? {} : { sets: c.value }) };
  }
  if (isLoad(b)) return { reps: a.value, load: b };
  return { sets: a.value, reps: b.value, ...(c !== undefined && isLoad(c) ? { load: c } : {}) };
}

function rpeFrom(value: number | undefined): number | null {
  return value !== undefined && value >= 1 && value <= 10 && Number.isInteger(value * 2) ? value : null;
}

/** What stands behind "@": a load, or without unit and up to 10 an RPE ("@8.5"). */
function afterAt(term: Term): Partial<Amounts> {
  if (term.percent) return {};
  if (term.unit === null && term.value <= 10) return term.value >= 5 ? { rpe: rpeFrom(term.value) } : {};
  return { load: term };
}

/** What one word with the number beside it means, and how many tokens that takes. */
function phraseAt(tokens: readonly Token[], at: number): { part: Partial<Amounts>; taken: number } | null {
  const word = textOf(tokens[at]);
  const next = termAt(tokens, at + 1);
  if (word === 'rpe') {
    const sign = textOf(tokens[at + 1]);
    const term = next ?? (sign === ':' || sign === '@' || sign === '=' ? termAt(tokens, at + 2) : null);
    return term === null ? null : { part: { rpe: rpeFrom(term.value) }, taken: term.next - at };
  }
  if (word === '@') {
    if (next === null) return null;
    return { part: afterAt(next), taken: next.next - at };
  }
  if ((word === 'x' || word === 'for') && next !== null && next.unit === null && !next.percent && next.value <= 50) {
    const timed = /^(s|sec|secs|seconds?|mins?|minutes?|weeks?|days?|months?|years?|sets?)$/.test(textOf(tokens[next.next]));
    return timed ? null : { part: { reps: next.value }, taken: next.next - at };
  }
  if (countWords[word] !== undefined) return { part: { reps: countWords[word]! }, taken: 1 };
  if (setWords.has(word) && textOf(tokens[at + 1]) === 'of') {
    const term = termAt(tokens, at + 2);
    return term === null || term.unit !== null ? null : { part: { reps: term.value }, taken: term.next - at };
  }
  return null;
}

/** What a number with the word behind it means. */
function countAt(tokens: readonly Token[], term: Term): Partial<Amounts> | null {
  const word = textOf(tokens[term.next]);
  if (repWords.has(word)) return { reps: term.value };
  if (setWords.has(word)) return { sets: term.value };
  if (word === 'rpe') return { rpe: rpeFrom(term.value) };
  // "5 @ 100": reps before, load behind; "140 for 5": load before.
  if (word === '@' && term.unit === null && term.value <= mostReps) return { reps: term.value };
  if (word === 'for' && term.value > mostReps && termAt(tokens, term.next + 1) !== null) return { load: term };
  if (word === '@' && term.value > mostReps) return { load: term };
  return null;
}

function merge(into: Amounts, part: Partial<Amounts>): void {
  if (part.load && (into.load === null || (into.load.unit === null && part.load.unit !== null))) into.load = part.load;
  into.reps ??= part.reps ?? null;
  into.sets ??= part.sets ?? null;
  into.rpe ??= part.rpe ?? null;
}

/** Reads load, reps, sets and RPE from a caption's tokens; the first statement of each wins, one with a unit over one without. */
export function amountsOf(tokens: readonly Token[]): Amounts {
  const amounts: Amounts = { load: null, reps: null, sets: null, rpe: null };
  for (let at = 0; at < tokens.length; ) {
    const terms = productAt(tokens, at);
    const last = terms.at(-1);
    if (last === undefined) {
      const phrase = phraseAt(tokens, at);
      if (phrase !== null) merge(amounts, phrase.part);
      at += phrase?.taken ?? 1;
      continue;
    }
    const alone = terms.length === 1 ? countAt(tokens, last) : null;
    const ofBody = terms.length === 1 && (bodyWords.has(textOf(tokens[at - 1])) || bodyWords.has(textOf(tokens[last.next])));
    if (!ofBody) merge(amounts, alone ?? meaningOf(terms));
    at = last.next;
  }
  return amounts;
}

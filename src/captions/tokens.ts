/** A number as typed, a lower-case word, or a sign; `at` is its place, so that touching tokens can be told. */
export type Token =
  | { kind: 'number'; value: number; at: number; end: number }
  | { kind: 'word' | 'sign'; text: string; at: number; end: number };

/** Chat markup that holds no words of the member: ticks and stars (not one that multiplies), mentions, channel and custom emoji ids, links. */
const markup = /<[@#!:a-z][^<>\s]{0,200}>|https?:\/\/[^\s<>]+|[_~`|]+|\*+(?!\d)|(?<!\d)\*+/gi;

/** The caption without markup, in one form of each character (full-width digits and signs become plain ones). */
export function plainText(caption: string): string {
  return caption
    .replace(markup, ' ')
    .normalize('NFKC')
    .replace(/\p{Cf}|\ufe0f/gu, '');
}

/** "1,000" is a thousand, "102,5" a hundred and two and a half. */
function numberOf(digits: string): number {
  return Number(/^\d{1,3},\d{3}$/.test(digits) ? digits.replace(',', '') : digits.replace(',', '.'));
}

/** Cuts plain text into tokens in one pass; spaces are dropped, a line break is a sign. */
export function tokensOf(text: string): Token[] {
  const tokens: Token[] = [];
  for (const match of text.toLowerCase().matchAll(/(\d+(?:[.,]\d+)?)|(\p{L}[\p{L}\p{M}'’]*)|([^\s\p{L}\d]|\n)/gu)) {
    const at = match.index;
    const end = at + match[0].length;
    if (match[1] !== undefined) tokens.push({ kind: 'number', value: numberOf(match[1]), at, end });
    else if (match[2] !== undefined) tokens.push(...wordsOf(match[2], at));
    else tokens.push({ kind: 'sign', text: match[0] === '×' || match[0] === '✕' ? 'x' : match[0], at, end });
  }
  return tokens;
}

/** "kgx" in "140kgx5" is a unit and a times sign. */
function wordsOf(word: string, at: number): Token[] {
  const end = at + word.length;
  const glued = /^(kgs?|kilos?|lbs?|pounds?)x$/.exec(word);
  if (glued === null) return [word === 'x' ? { kind: 'sign', text: 'x', at, end } : { kind: 'word', text: word, at, end }];
  return [
    { kind: 'word', text: glued[1]!, at, end: end - 1 },
    { kind: 'sign', text: 'x', at: end - 1, end },
  ];
}

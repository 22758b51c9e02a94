import { createHash } from 'node:crypto';

/** Discord's limit of characters in one message's content (Discord docs, channel resource, create message). */
const contentLimit = 2000;

/** Four invisible characters that Discord keeps and members' texts never contain after {@link cleanText}. */
const markSigns = ['\u2060', '\u2061', '\u2062', '\u2063'] as const;
const markPattern = /[\u2060-\u2063]{20}/;

/** Drops control, bidi and invisible format characters and lone surrogates; keeps line breaks and the joiners of emoji and scripts. */
export function cleanText(text: string): string {
  return text
    .replace(/\r\n?|[\u2028\u2029]/g, '\n')
    .replace(/\t/g, ' ')
    .replace(/[\p{Cc}\p{Cf}\p{Cs}]/gu, (sign) => (/\n|\u200C|\u200D|[\u{E0020}-\u{E007F}]/u.test(sign) ? sign : ''));
}

/** Discord addresses of channels and messages; the only links that stay links. */
const ownLink = /(https:\/\/discord\.com\/channels\/\d{1,20}\/\d{1,20}(?:\/\d{1,20})?)/;

function escapePlain(text: string): string {
  return text
    .split(ownLink)
    .map((piece, i) => (i % 2 === 1 ? piece : piece.replace(/[\\*_~`|[\]<>@]/g, '\\$&').replace(/:(?=\/\/|[^\s:]+:)/g, '\\:')))
    .join('');
}

function escapeLine(line: string): string {
  const pieces = line.split(/\*\*(?=[^\s*])(.+?)(?<=[^\s*])\*\*/);
  const escaped = pieces.map((piece, i) => (i % 2 === 1 ? `**${escapePlain(piece)}**` : escapePlain(piece))).join('');
  return escaped.replace(/^(\s*)([#+-])/, '$1\\$2').replace(/^(\s*\d+)([.)])/, '$1\\$2');
}

/** Cuts a line that alone is over the limit, at a space if there is one; never inside an escape or a character. */
function cutLine(line: string, limit: number): string[] {
  const parts: string[] = [];
  let part = '';
  for (const atom of line.match(/\\?./gsu) ?? []) {
    if (part.length + atom.length > limit) {
      const space = part.lastIndexOf(' ');
      const end = space > limit / 2 ? space : part.length;
      parts.push(part.slice(0, end));
      part = part.slice(end).trimStart();
    }
    part += atom;
  }
  return [...parts, part];
}

/**
 * Text in the project's small markup as Discord contents: markdown, mentions and foreign links escaped, split at line breaks so that each
 * part has at most 2,000 characters less `reserved`. One empty part for an empty text.
 */
export function contentsOf(text: string, reserved: number): string[] {
  const limit = contentLimit - reserved;
  const parts: string[] = [];
  let part: string | null = null;
  for (const line of cleanText(text)
    .split('\n')
    .map(escapeLine)
    .flatMap((l) => cutLine(l, limit))) {
    if (part === null) part = line;
    else if (part.length + 1 + line.length <= limit) part += `\n${line}`;
    else {
      parts.push(part);
      part = line;
    }
  }
  return [...parts, part ?? ''];
}

/** What names one outgoing message: `nonce` (Discord keeps it for some minutes) and `mark`, 20 invisible characters that stay in the text. */
export interface PostName {
  nonce: string;
  mark: string;
}

export function postName(id: string): PostName {
  const hash = createHash('sha256').update(id).digest();
  const mark = [...hash.subarray(0, 5)]
    .flatMap((byte) => [0, 2, 4, 6].map((shift) => markSigns[((byte >> shift) & 3) as 0 | 1 | 2 | 3]))
    .join('');
  return { nonce: hash.toString('base64url').slice(0, 24), mark };
}

/** The mark in a content of ours, null when there is none. */
export function markIn(content: string): string | null {
  return markPattern.exec(content)?.[0] ?? null;
}

/** Characters that a mark adds to a content. */
export const markLength = 20;

/** At most `limit` characters, the last one `…` when something was cut off. */
export function shorten(text: string, limit: number): string {
  const signs = [...cleanText(text)];
  return signs.join('').length <= limit
    ? signs.join('')
    : `${signs
        .slice(0, limit - 1)
        .join('')
        .slice(0, limit - 1)}…`;
}

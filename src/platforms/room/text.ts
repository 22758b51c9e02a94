/** Control characters (but tab and line feed), bidirectional marks and overrides, byte-order marks, tag characters, lone surrogates. */
const unwanted =
  /(?![\t\n])\p{Cc}|[\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]|[\u{e0000}-\u{e007f}]|\p{Surrogate}/gu;

/** Text without characters that steer a terminal or turn the reading direction; at most three combining marks in a row; lines end in \n. */
export function cleanText(text: string): string {
  return text
    .replace(/\r\n?|\u2028|\u2029/g, '\n')
    .replace(unwanted, '')
    .replace(/(\p{M}{3})\p{M}+/gu, '$1');
}

/** A file name or display name: one line, no path, at most `max` characters; `otherwise` when nothing is left. */
export function cleanName(name: string, max: number, otherwise: string): string {
  const line = cleanText(name)
    .replace(/[\\/\n\t]/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
  const cut = Array.from(line).slice(0, max).join('');
  return cut === '' || cut === '.' || cut === '..' ? otherwise : cut;
}

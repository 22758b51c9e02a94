/** Marks that turn the reading direction or cannot be seen (Unicode, UAX #9 and category Cf but the joiners of emoji and scripts), and lone surrogates. */
const unseen = /[\u00ad\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\u{e0001}]|\p{Surrogate}/gu;

/**
 * What a person wrote (a name, a reason, a question) as it may stand inside a sentence of the bot: on one line, without bold of its own, so that
 * it cannot pass for a line that the bot wrote; at most `most` characters. Mentions and the platform's own markup are the adapter's to escape.
 */
export function quoted(text: string, most: number): string {
  const line = text
    .slice(0, 20 * most) // 100 kB of signs that go are not worth the time
    .replace(unseen, '')
    .replace(/[\p{Cc}\s]+/gu, ' ')
    .replace(/\*{2,}/g, '*')
    .trim();
  return Array.from(line).slice(0, most).join('').trim();
}

const longestName = 80; // chosen: above the names of chat services (Discord 32, Slack 80; from memory), so that none is cut

/** A display name to be put into sentences; the person's id where nothing is left of it. */
export const quotedName = ({ name, id }: { name: string; id: string }): string => quoted(name, longestName) || id;

import type { types } from '@slack/bolt';

/** Characters that change how the rest of a text is read: controls except the line break, and bidirectional marks. */
const invisible = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069\ufeff]/g;

/** Longest text of one block, characters (Slack: 3,000 for a section; no own figure is written for rich text). */
const blockTextMax = 3000;

/** Text as it was typed: Slack's escapes undone, links as their address, mentions as names. */
export function typedText(raw: string): string {
  return raw
    .replace(/<([^<>]+)>/g, (_, inner: string) => {
      const bar = inner.indexOf('|');
      const target = bar < 0 ? inner : inner.slice(0, bar);
      const label = bar < 0 ? '' : inner.slice(bar + 1);
      if (/^[@#!]/.test(target)) {
        const sign = target[0] === '#' ? '#' : '@';
        const name = label || target.replace(/^[@#!]/, '').replace(/^subteam\^/, '');
        return name.startsWith(sign) ? name : sign + name;
      }
      const auto = label === '' || target === label || target.endsWith(`//${label}`) || target === `mailto:${label}`;
      return auto ? target : `${label} ${target}`;
    })
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&');
}

/** Without characters that hide or turn text; line breaks stay. */
export function visibleText(text: string): string {
  return text.replaceAll('\r\n', '\n').replace(invisible, '');
}

/** Cut to `max` characters with an ellipsis, never inside a surrogate pair. */
export function cut(text: string, max: number): string {
  if (text.length <= max) return text;
  const end = /[\ud800-\udbff]/.test(text[max - 2] ?? '') ? max - 2 : max - 1;
  return `${text.slice(0, end)}…`;
}

/** Runs of the project's markup: `**bold**` inside one line, the rest as it stands. */
function runs(text: string): { text: string; bold: boolean }[] {
  const found: { text: string; bold: boolean }[] = [];
  let at = 0;
  for (const match of text.matchAll(/\*\*(\S(?:[^\n]*?\S)?)\*\*/g)) {
    if (match.index > at) found.push({ text: text.slice(at, match.index), bold: false });
    found.push({ text: match[1]!, bold: true });
    at = match.index + match[0].length;
  }
  if (at < text.length) found.push({ text: text.slice(at), bold: false });
  return found;
}

/** Parts of at most `max` characters, split at line breaks where possible; joined by line breaks they are the text again. */
export function splitLines(text: string, max: number): string[] {
  const parts: string[] = [];
  let part: string | null = null;
  for (const line of text.split('\n')) {
    let rest = line;
    if (part !== null && part.length + 1 + rest.length <= max) {
      part = `${part}\n${rest}`;
      continue;
    }
    if (part !== null) parts.push(part);
    while (rest.length > max) {
      const end = /[\ud800-\udbff]/.test(rest[max - 1] ?? '') ? max - 1 : max;
      parts.push(rest.slice(0, end));
      rest = rest.slice(end);
    }
    part = rest;
  }
  if (part !== null) parts.push(part);
  return parts;
}

/** Rich text, which Slack shows as it is: no markup, link, emoji or mention in it is read. `group` is a user-group id or null. */
export function richText(text: string, group: string | null): types.RichTextBlock[] {
  const parts = splitLines(text, blockTextMax);
  return parts.map((part, index) => {
    const elements: types.RichTextSection['elements'] = runs(part).map((run) =>
      run.bold ? { type: 'text', text: run.text, style: { bold: true } } : { type: 'text', text: run.text },
    );
    if (index === 0 && group !== null) {
      elements.unshift({ type: 'usergroup', usergroup_id: group }, { type: 'text', text: elements.length > 0 ? ' ' : '\n' });
    }
    if (elements.length === 0) elements.push({ type: 'text', text: '\n' });
    return { type: 'rich_text', elements: [{ type: 'rich_text_section', elements }] };
  });
}

/** The text for notifications and screen readers: escaped, bold in Slack's own signs, at most 3,000 characters before escaping. */
export function notificationText(text: string, group: string | null): string {
  const body = runs(cut(text, blockTextMax))
    .map((run) => {
      const safe = run.text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
      return run.bold ? `*${safe}*` : safe;
    })
    .join('');
  return group === null ? body : `<!subteam^${group}> ${body}`;
}

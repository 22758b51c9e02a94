/**
 * What a reader of Discord sees of a message's content: a small reader of its markdown, written from Discord's help page on text formatting
 * and the message formatting reference. Active markup other than bold comes out as `⟦kind:text⟧`, so that a test that expects plain text
 * fails on it. The backslash hides before any sign that is neither letter, digit nor space (from memory of Discord's behaviour).
 */
const rules: [kind: string, pattern: RegExp, where: 'anywhere' | 'line'][] = [
  ['mention', /^<(?:@[!&]?|#)\d+>|^@(?:everyone|here)/, 'anywhere'],
  ['emoji', /^<a?:\w+:\d+>|^:[^\s:]+:/, 'anywhere'],
  ['time', /^<t:-?\d+(?::\w)?>/, 'anywhere'],
  ['link', /^<https?:\/\/[^>\s]+>|^https?:\/\/[^\s<]+|^\[[^\]]+\]\([^)\s]+\)/, 'anywhere'],
  ['code', /^```[\s\S]+?```|^`[^`\n]+`/, 'anywhere'],
  ['spoiler', /^\|\|[\s\S]+?\|\|/, 'anywhere'],
  ['strike', /^~~[\s\S]+?~~/, 'anywhere'],
  ['underline', /^__[\s\S]+?__/, 'anywhere'],
  ['em', /^_(?=\S)[^_\n]+_(?!\w)|^\*(?=[^\s*])[^*\n]+\*(?!\*)/, 'anywhere'],
  ['heading', /^(?:#{1,3}|-#) +/, 'line'],
  ['list', /^ *(?:[-*+]|\d+[.)]) +/, 'line'],
  ['quote', /^>(?:>>)? /, 'line'],
];

const ownLink = /^https:\/\/discord\.com\/channels\/[\d/]+/;

export function readable(content: string): string {
  let shown = '';
  for (let at = 0; at < content.length; ) {
    const rest = content.slice(at);
    const lineStart = at === 0 || content[at - 1] === '\n';
    const escaped = /^\\([^0-9A-Za-z\s])/u.exec(rest);
    const bold = /^\*\*(?=\S)((?:\\[\s\S]|[^\n])+?)\*\*(?!\*)/.exec(rest);
    const link = ownLink.exec(rest);
    if (escaped) {
      shown += escaped[1];
      at += escaped[0].length;
    } else if (link) {
      shown += link[0];
      at += link[0].length;
    } else if (bold) {
      shown += `**${readable(bold[1]!)}**`;
      at += bold[0].length;
    } else {
      const active = rules
        .map(([kind, pattern, where]) => ({ kind, hit: where === 'anywhere' || lineStart ? pattern.exec(rest) : null }))
        .find((r) => r.hit);
      shown += active ? `⟦${active.kind}:${active.hit![0]}⟧` : rest[0];
      at += active ? active.hit![0].length : 1;
    }
  }
  return shown;
}

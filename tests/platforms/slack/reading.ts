type Json = { [key: string]: unknown };

/** Rich text as a reader sees it; bold in the project's own signs. Throws on anything the adapter should not send. */
export function readBlocks(blocks: Json[], pings: Set<string>): string {
  const lines: string[] = [];
  for (const block of blocks) {
    if (block.type === 'actions') continue;
    if (block.type !== 'rich_text') throw new Error(`harness: cannot read a ${String(block.type)} block`);
    for (const section of block.elements as Json[]) {
      let text = '';
      let afterPing = false;
      for (const element of section.elements as Json[]) {
        if (element.type === 'usergroup') {
          pings.add(String(element.usergroup_id));
          afterPing = true;
        } else if (element.type === 'text') {
          const bold = (element.style as Json | undefined)?.bold === true;
          const run = afterPing ? String(element.text).replace(/^ /, '') : String(element.text);
          text += bold ? `**${run}**` : run;
          afterPing = false;
        } else throw new Error(`harness: cannot read a ${String(element.type)} element`);
      }
      lines.push(text);
    }
  }
  return lines.join('\n');
}

/** Who the notification text would notify. */
export function pingsOfText(text: string, pings: Set<string>): void {
  for (const [, target] of text.matchAll(/<([@!][^>|]+)[^>]*>/g)) {
    pings.add(/^!(here|channel|everyone)$/.test(target!) ? 'everyone' : target!.replace(/^(@|!subteam\^)/, ''));
  }
}

/** Buttons and choices of a message. */
export const controls = (blocks: Json[]) =>
  blocks.flatMap((block) => (block.type === 'actions' ? (block.elements as Json[]) : []));
/** Text of a plain-text object. */
export const textOf = (node: unknown) => String((node as Json).text);

/** Buttons and choices of a message as tests look at them. */
export const offersOf = (blocks: Json[]) => ({
  buttons: controls(blocks).flatMap((one) =>
    one.type === 'button' ? [{ id: String(one.action_id), label: textOf(one.text) }] : [],
  ),
  choices: controls(blocks).flatMap((one) =>
    one.type === 'static_select'
      ? [{ id: String(one.action_id), values: (one.options as Json[]).map((option) => String(option.value)) }]
      : [],
  ),
});

import { readFile, stat } from 'node:fs/promises';
import { ButtonStyle, ComponentType, MessageFlags, type RawFile } from 'discord.js';
import type { Button, Choice, OutgoingFile, OutgoingMessage } from '../port.ts';
import { finalFailure } from './failure.ts';
import { contentsOf, shorten } from './text.ts';

/** Upload limit of one file without server boosts: 10 MiB (Discord docs, reference, uploading files). */
export const maxFileBytes = 10 * 1024 * 1024;
/** Files of a message, rows, buttons in a row, characters of a custom id, options of a select (Discord docs, message, components). */
const limits = { files: 10, rows: 5, buttonsInRow: 5, idLength: 100, options: 25 };

/** One Discord message to be sent: a body for create, edit and interaction answers, and its files. */
export interface Draft {
  body: {
    content: string;
    flags: number;
    allowed_mentions: { parse: never[]; roles: string[] };
    components: unknown[];
    attachments?: { id: number; filename: string; description?: string }[];
  };
  files: RawFile[];
}

const styles = { plain: ButtonStyle.Secondary, good: ButtonStyle.Success, danger: ButtonStyle.Danger };

const checkedId = (id: string) => {
  if (id.length === 0 || id.length > limits.idLength)
    throw finalFailure('refused', `an id of 1 to ${limits.idLength} characters is needed`);
  return id;
};

/** Labels have up to 100 characters (Discord docs, string select). */
const optionsOf = (options: Choice['options']) => {
  if (options.length === 0 || options.length > limits.options)
    throw finalFailure('refused', `a choice needs 1 to ${limits.options} options`);
  return options.map((option) => ({ value: checkedId(option.value), label: shorten(option.label, 100) }));
};

/** A list of options as a string select, for messages and forms. */
export function selectOf(id: string, options: Choice['options']) {
  return { type: ComponentType.StringSelect, custom_id: checkedId(id), options: optionsOf(options) };
}

function rowsOf(buttons: Button[], choices: Choice[]) {
  const rows: unknown[] = [];
  for (let i = 0; i < buttons.length; i += limits.buttonsInRow) {
    const components = buttons.slice(i, i + limits.buttonsInRow).map((button) => ({
      type: ComponentType.Button,
      custom_id: checkedId(button.id),
      label: shorten(button.label, 80), // Discord docs, button
      style: styles[button.style],
    }));
    rows.push({ type: ComponentType.ActionRow, components });
  }
  for (const choice of choices) {
    rows.push({
      type: ComponentType.ActionRow,
      components: [{ ...selectOf(choice.id, choice.options), placeholder: shorten(choice.label, 150) }], // 150: Discord docs, select
    });
  }
  if (rows.length > limits.rows) throw finalFailure('refused', 'more buttons and choices than a message holds');
  return rows;
}

async function rawFile(file: OutgoingFile): Promise<RawFile> {
  const { size } = await stat(file.path);
  if (size > maxFileBytes) throw finalFailure('refused', `a file of ${size} bytes is over the limit of ${maxFileBytes}`);
  return { name: file.name, data: await readFile(file.path) };
}

/**
 * A message as one or several Discord messages: long texts are split at lines, files, buttons and choices stand on the last one. No mention
 * pings but the given role; link previews are off. `reserved`: characters to be left free in each content.
 *
 * @throws PlatformError `refused` for what Discord would never take: too many files or components, a file over 10 MiB, nothing to show.
 */
export async function draftsOf(message: OutgoingMessage, reserved: number): Promise<[Draft, ...Draft[]]> {
  if (message.mention !== null && !/^\d{1,20}$/.test(message.mention))
    throw finalFailure('refused', 'the role to mention must be a Discord id');
  if (message.files.length > limits.files) throw finalFailure('refused', `at most ${limits.files} files fit into a message`);
  const prefix = message.mention === null ? '' : `<@&${message.mention}> `;
  const components = rowsOf(message.buttons, message.choices);
  const contents = contentsOf(message.text, reserved + prefix.length);
  if (contents.join('').trim() === '' && message.files.length === 0 && components.length === 0) {
    throw finalFailure('refused', 'the message has neither text nor files');
  }
  const drafts = contents.map(
    (content, i): Draft => ({
      body: {
        content: i === 0 ? `${prefix}${content}` : content,
        flags: MessageFlags.SuppressEmbeds,
        allowed_mentions: { parse: [], roles: i === 0 && message.mention !== null ? [message.mention] : [] },
        components: i === contents.length - 1 ? components : [],
      },
      files: [],
    }),
  );
  const last = drafts.at(-1)!;
  if (message.files.length > 0) {
    last.files = await Promise.all(message.files.map(rawFile));
    last.body.attachments = message.files.map((file, id) => ({
      id,
      filename: file.name,
      ...(file.alt !== null && { description: shorten(file.alt, 1024) }),
    }));
  }
  return drafts as [Draft, ...Draft[]];
}

import { createHash } from 'node:crypto';
import type { types } from '@slack/bolt';
import { type Button, type Choice, type Form, type OutgoingMessage, PlatformError } from '../port.ts';
import { cut, notificationText, richText, visibleText } from './text.ts';

/** Slack's limits, from its Block Kit reference: characters, entries, elements. */
const limits = {
  blocks: 50,
  elements: 25,
  buttonText: 75,
  actionId: 255,
  placeholder: 150,
  optionText: 75,
  optionValue: 150,
  modalTitle: 24,
  modalBlocks: 100,
  callbackId: 255,
  privateMetadata: 3000,
  inputLabel: 2000,
  inputMax: 3000,
} as const;

const words = { send: 'Send', cancel: 'Cancel' };

function plain(text: string, max: number): types.PlainTextElement {
  return { type: 'plain_text', text: cut(visibleText(text).replaceAll('\n', ' ') || '-', max), emoji: false };
}

/** Ids travel back to us and are parsed, so one that is too long is an error and never cut. */
function whole(id: string, max: number): string {
  if (id.length === 0 || id.length > max) {
    throw new PlatformError('refused', `an id has ${id.length} characters, Slack takes 1 to ${max}`, {
      final: true,
      retryAfterMs: null,
    });
  }
  return id;
}

function option(entry: { value: string; label: string }): types.PlainTextOption {
  return { text: plain(entry.label, limits.optionText), value: whole(entry.value, limits.optionValue) };
}

function button(entry: Button): types.Button {
  const style = { plain: {}, good: { style: 'primary' }, danger: { style: 'danger' } } as const;
  return {
    type: 'button',
    action_id: whole(entry.id, limits.actionId),
    text: plain(entry.label, limits.buttonText),
    ...style[entry.style],
  };
}

function select(entry: Choice): types.StaticSelect {
  return {
    type: 'static_select',
    action_id: whole(entry.id, limits.actionId),
    placeholder: plain(entry.label, limits.placeholder),
    options: entry.options.map(option),
  };
}

/** The block id under which a post is found again: Slack gives block ids back in history, for messages with files too. */
export function keyBlockId(key: string): string {
  return `key-${createHash('sha256').update(key).digest('hex').slice(0, 40)}`;
}

/** A user-group id as Slack writes them; anything else is not mentioned. */
function groupOf(mention: string | null): string | null {
  return mention !== null && /^[A-Z0-9]{2,32}$/.test(mention) ? mention : null;
}

/** Text, then choices, then buttons; the first block carries `blockId`. Throws `refused` when the message breaks Slack's limits. */
export function messageBlocks(message: OutgoingMessage, blockId: string | null): types.KnownBlock[] {
  const group = groupOf(message.mention);
  const text = visibleText(message.text);
  const blocks: types.KnownBlock[] = text === '' && group === null ? [] : richText(text, group);
  const elements = [...message.choices.map(select), ...message.buttons.map(button)];
  for (let at = 0; at < elements.length; at += limits.elements) {
    blocks.push({ type: 'actions', elements: elements.slice(at, at + limits.elements) });
  }
  if (blocks.length === 0) blocks.push(...richText(message.files.map((file) => visibleText(file.name)).join('\n'), null));
  if (blocks.length > limits.blocks) {
    throw new PlatformError('refused', `the message needs ${blocks.length} blocks, Slack takes ${limits.blocks}`, {
      final: true,
      retryAfterMs: null,
    });
  }
  if (blockId !== null && blocks[0] !== undefined) blocks[0].block_id = blockId;
  return blocks;
}

/** The message's text for notifications; never empty. */
export function messageText(message: OutgoingMessage): string {
  const text = visibleText(message.text) || message.files.map((file) => visibleText(file.alt ?? file.name)).join(', ') || ' ';
  return notificationText(text, groupOf(message.mention));
}

/** A form as a modal; `context` comes back with the submission. Field ids are block and action ids at once. */
export function modalView(form: Form, context: string, given: Record<string, string> = {}): types.ModalView {
  return {
    type: 'modal',
    callback_id: whole(form.id, limits.callbackId),
    private_metadata: whole(context, limits.privateMetadata),
    title: plain(form.title, limits.modalTitle),
    submit: plain(words.send, limits.modalTitle),
    close: plain(words.cancel, limits.modalTitle),
    blocks: form.fields.slice(0, limits.modalBlocks).map((field): types.InputBlock => {
      const chosen = field.kind === 'choice' ? field.options.find((entry) => entry.value === given[field.id]) : undefined;
      return {
        type: 'input',
        block_id: whole(field.id, limits.actionId),
        optional: !field.required,
        label: plain(field.label, limits.inputLabel),
        ...(field.hint === '' ? {} : { hint: plain(field.hint, limits.inputLabel) }),
        element:
          field.kind === 'choice'
            ? {
                type: 'static_select',
                action_id: field.id,
                options: field.options.map(option),
                ...(chosen === undefined ? {} : { initial_option: option(chosen) }),
              }
            : {
                type: 'plain_text_input',
                action_id: field.id,
                multiline: field.lines === 'many',
                max_length: Math.min(Math.max(field.maxLength, 1), limits.inputMax),
                ...(given[field.id] ? { initial_value: cut(given[field.id]!, Math.min(field.maxLength, limits.inputMax)) } : {}),
              },
      };
    }),
  };
}

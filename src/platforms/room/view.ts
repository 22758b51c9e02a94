import type { Form, IncomingMessage, MessageRef, OutgoingMessage } from '../port.ts';
import { shownType } from './files.ts';
import type { StoredFile, StoredMessage } from './store.ts';

/** Address of a stored message. */
export function refOf(message: StoredMessage): MessageRef {
  return { platform: 'room', channel: message.channel, message: message.id, thread: message.thread };
}

/** A stored message as the bot reads it. */
export function incomingOf(message: StoredMessage): IncomingMessage {
  const { channel, thread } = message;
  return {
    ref: refOf(message),
    threadStart: thread === null ? null : { platform: 'room', channel, message: thread, thread: null },
    author: message.author,
    text: message.text,
    files: message.files.map(({ id, name, contentType, bytes }) => ({ id, name, contentType, bytes })),
    sentAtMs: message.sentAtMs,
  };
}

/** A file as the page shows it; the address cannot be guessed. */
export function fileView(file: StoredFile) {
  const type = shownType(file.name);
  const kind = type === null ? 'other' : type.startsWith('video/') ? 'video' : 'picture';
  return { url: `/files/${file.id}/${encodeURIComponent(file.name)}`, name: file.name, alt: file.alt, kind, bytes: file.bytes };
}

/** A stored message as the page shows it. A removed one is an id and nothing else. */
export function viewOf(message: StoredMessage) {
  const { id, rev, channel, thread, removed } = message;
  if (removed) return { id, rev, channel, thread, removed };
  const { text, buttons, choices, mention, marks, sentAtMs, edited, author } = message;
  return {
    ...{ id, rev, channel, thread, removed, text, buttons, choices, mention, marks, sentAtMs, edited },
    author: { id: author.id, name: author.name, role: author.groups[0] ?? 'bot' },
    files: message.files.map(fileView),
  };
}

/** A private answer as the page shows it, under the key by which its buttons are pressed. */
export function privateView(key: string, message: OutgoingMessage, files: StoredFile[]) {
  const { text, buttons, choices } = message;
  return { kind: 'private', key, text, buttons, choices, files: files.map(fileView) };
}

/** A form as the page shows it, under the key by which it is sent. */
export function formView(key: string, form: Form) {
  return { kind: 'form', key, ...form };
}

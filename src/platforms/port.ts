/** What the use cases ask of a chat platform. An adapter only transports; refs are plain JSON and survive a restart. */

export type PlatformName = 'discord' | 'slack' | 'room';

/** Address of one message. `thread` is the platform's id of the thread it stands in, null at channel level. */
export interface MessageRef {
  platform: PlatformName;
  channel: string;
  message: string;
  thread: string | null;
}

/** One file of a message as the platform tells it. `url` may expire; `fetchFile` gets a fresh one from the ref. */
export interface IncomingFile {
  id: string;
  name: string;
  contentType: string | null;
  bytes: number | null;
}

/** A message as posted, edited, or found again by a backfill. `sentAtMs` is the platform's time. */
export interface IncomingMessage {
  ref: MessageRef;
  /** The message that opened the thread, when this one is a reply in a thread. */
  threadStart: MessageRef | null;
  author: Person;
  text: string;
  files: IncomingFile[];
  sentAtMs: number;
}

/** A person on a platform. `groups` are role ids (Discord), user-group ids (Slack) or room roles. */
export interface Person {
  platform: PlatformName;
  id: string;
  name: string;
  groups: string[];
  isBot: boolean;
}

/** Marks by meaning; settings map each to an emoji. */
export type Mark = 'seen' | 'fix' | 'clean' | 'unsure' | 'failed' | 'done';

export interface OutgoingFile {
  path: string;
  name: string;
  /** Alt text of a picture; null for a clip. */
  alt: string | null;
}

/** A button whose `id` is parsed on press (at most 100 characters), never a closure. */
export interface Button {
  id: string;
  label: string;
  style: 'plain' | 'good' | 'danger';
}

/** A choice from a list, at most 25 entries. */
export interface Choice {
  id: string;
  label: string;
  options: { value: string; label: string }[];
}

/** Plain text in the project's small markup: **bold**, line breaks, nothing else; the adapter escapes all markup and mentions. */
export interface OutgoingMessage {
  text: string;
  files: OutgoingFile[];
  buttons: Button[];
  choices: Choice[];
  /** Mention of a role or group that settings allow (the coaches'), null for none. Nothing else ever pings. */
  mention: string | null;
}

/** A form that opens on a press: each field one line or several. */
export interface Form {
  id: string;
  title: string;
  fields: ({ id: string; label: string; required: boolean; hint: string } & (
    | { kind: 'text'; lines: 'one' | 'many'; maxLength: number }
    | { kind: 'choice'; options: { value: string; label: string }[] }
  ))[];
}

/** A press, a choice, a sent form or a command. `values` by field id; `where` is the message that carried the button, null for a command and for an answer that one person alone sees. */
export interface Action {
  kind: 'button' | 'choice' | 'form' | 'command';
  id: string;
  /** Unique per press: the platform's interaction id; the same press delivered twice carries the same id. */
  pressId: string;
  person: Person;
  where: MessageRef | null;
  channel: string;
  values: Record<string, string>;
}

/** The immediate answer to an action, seen by that person only, or a form to open. */
export type ActionReply = { kind: 'private'; message: OutgoingMessage } | { kind: 'form'; form: Form } | { kind: 'nothing' };

/** What an adapter calls. Handlers may be called twice for the same event; the bot removes doubles by ref and pressId. */
export interface PlatformEvents {
  onMessage(message: IncomingMessage): Promise<void>;
  onAction(action: Action): Promise<ActionReply>;
  /** Called at start and after each reconnect with a gap; the bot then calls `history`. */
  onGap(platform: PlatformName): Promise<void>;
  /** After the start: the connection over which events come broke (`final`: until the operator mends what the fault names), or stands again (null). */
  onLine(platform: PlatformName, fault: PlatformError | null): void;
}

export interface PreflightRow {
  what: string;
  ok: boolean;
  found: string;
  fix: string;
}

/**
 * A fault of the platform; `retryAfterMs` when it told how long, `final` when trying again cannot help (channel gone, permission taken).
 * `forbidden` that is not final: a token that was taken back; all waits for a new one, which the message names.
 */
export class PlatformError extends Error {
  constructor(
    readonly code: 'rate-limited' | 'unreachable' | 'forbidden' | 'gone' | 'not-ready' | 'refused',
    message: string,
    readonly retry: { final: boolean; retryAfterMs: number | null },
    options?: ErrorOptions,
  ) {
    super(message, options);
    this.name = 'PlatformError';
  }
}

/** A command people type, with its fields; adapters register it in their own way. */
export interface Command {
  name: string;
  description: string;
  fields: { id: string; label: string; required: boolean; options: { value: string; label: string }[] | null }[];
}

export interface Platform {
  readonly name: PlatformName;
  /** Largest file in bytes that `post` can attach. */
  readonly maxFileBytes: number;
  start(events: PlatformEvents, commands: Command[], signal: AbortSignal): Promise<void>;
  stop(): Promise<void>;
  preflight(): Promise<PreflightRow[]>;
  /** Messages with files after `after` (exclusive) in a watched channel, oldest first, threads included; pages on its own up to `limit`. */
  history(channel: string, after: string | null, limit: number, signal: AbortSignal): Promise<IncomingMessage[]>;
  /** Writes the file to `path` with a fresh address; checks that it is not a login page. */
  fetchFile(message: MessageRef, file: IncomingFile, path: string, maxBytes: number, signal: AbortSignal): Promise<void>;
  /** Sets exactly these marks of ours on the message; repeating is harmless. */
  setMarks(message: MessageRef, marks: Mark[], signal: AbortSignal): Promise<void>;
  /**
   * Posts under `key`, into the thread of `to` (a message) or at channel level (message null). Called again with the same key after a crash
   * it finds the earlier post (by nonce, metadata or history) and returns it instead of posting twice.
   */
  post(
    to: { channel: string; message: MessageRef | null },
    message: OutgoingMessage,
    key: string,
    signal: AbortSignal,
  ): Promise<MessageRef>;
  /** Text, buttons and choices become those of `next`. Files stay where `next` has none, else they are replaced. */
  edit(message: MessageRef, next: OutgoingMessage, signal: AbortSignal): Promise<void>;
  remove(message: MessageRef, signal: AbortSignal): Promise<void>;
}

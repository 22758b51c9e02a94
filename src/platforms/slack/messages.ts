import { setTimeout as sleep } from 'node:timers/promises';
import type { IncomingFile, IncomingMessage, MessageRef } from '../port.ts';
import type { SlackApi } from './api.ts';
import { slackErrorOf, toPlatformError } from './errors.ts';
import type { SlackPeople } from './people.ts';
import { typedText } from './text.ts';

/** A file as it stands in a message; only the id is certain. */
export interface SlackFile {
  id?: string;
  name?: string | null;
  title?: string | null;
  mimetype?: string;
  size?: number;
  mode?: string;
  file_access?: string;
}

/** What the adapter reads of a message, from an event or from history. */
export interface SlackMessage {
  ts?: string;
  thread_ts?: string;
  user?: string;
  bot_id?: string;
  text?: string;
  subtype?: string;
  files?: SlackFile[];
}

/** Kinds of message that a person writes; all others (joins, topics, bots) are left alone. */
const written = [undefined, 'file_share', 'thread_broadcast', 'me_message'];

/** The ref of a message; a message that starts a thread stands at channel level. */
export function refOf(channel: string, message: Pick<SlackMessage, 'ts' | 'thread_ts'>): MessageRef {
  const ts = message.ts!;
  const thread = message.thread_ts !== undefined && message.thread_ts !== ts ? message.thread_ts : null;
  return { platform: 'slack', channel, message: ts, thread };
}

/** Whether a person wrote it: not ourselves, no bot, no notice of the platform. */
export function isFromPerson(message: SlackMessage, botUserId: string | null): boolean {
  const subtype = message.subtype;
  return (
    written.includes(subtype) &&
    message.ts !== undefined &&
    message.user !== undefined &&
    message.user !== botUserId &&
    message.user !== 'USLACKBOT' &&
    message.bot_id === undefined
  );
}

/** Whether an edit changed what the bot reads (link previews and counters come as edits too). `before` may be missing. */
export function editMatters(after: SlackMessage, before: SlackMessage | undefined): boolean {
  if (before === undefined) return true;
  const ids = (message: SlackMessage) => (message.files ?? []).map((file) => file.id).join();
  return after.text !== before.text || ids(after) !== ids(before);
}

/** Files that were deleted or are hidden by the plan's limit are no longer there. */
export function filesThere(message: SlackMessage): SlackFile[] {
  return (message.files ?? []).filter(
    (file) => file.id !== undefined && file.mode !== 'tombstone' && file.mode !== 'hidden_by_limit',
  );
}

/** A file as the port has it. Slack may send only an id (`file_access: check_file_info`): then files.info is asked, three times at most. */
async function fileOf(api: SlackApi, file: SlackFile, signal: AbortSignal): Promise<IncomingFile | null> {
  let known: SlackFile = file;
  for (let attempt = 0; attempt < 3 && (!known.name || !known.mimetype || known.file_access === 'check_file_info'); attempt++) {
    if (attempt > 0) await sleep(400 * attempt, undefined, { signal });
    try {
      const answer = await api.patiently(signal, (web) => web.files.info({ file: file.id! }));
      known = { ...known, ...(answer.file as SlackFile), file_access: 'visible' };
    } catch (error) {
      if (signal.aborted) throw error;
      if (toPlatformError(error).code === 'gone' || slackErrorOf(error) === 'file_deleted') return null;
      break;
    }
  }
  return {
    id: file.id!,
    name: known.name || known.title || file.id!,
    contentType: known.mimetype || null,
    bytes: known.size ?? null,
  };
}

/** The message as the port has it. Throws PlatformError only when aborted; what cannot be read is left out. */
export async function toIncoming(
  api: SlackApi,
  people: SlackPeople,
  channel: string,
  message: SlackMessage,
  signal: AbortSignal,
): Promise<IncomingMessage> {
  const ref = refOf(channel, message);
  const [author, ...files] = await Promise.all([
    people.personOf(message.user!, signal),
    ...filesThere(message).map((file) => fileOf(api, file, signal)),
  ]);
  return {
    ref,
    threadStart: ref.thread === null ? null : { platform: 'slack', channel, message: ref.thread, thread: null },
    author,
    text: typedText(message.text ?? ''),
    files: files.filter((file) => file !== null),
    sentAtMs: Math.round(Number(ref.message) * 1000),
  };
}

import type { MessageRef } from '../port.ts';
import type { SlackApi } from './api.ts';
import { keyBlockId } from './blocks.ts';
import { refOf } from './messages.ts';

/** Type of the metadata that our messages carry; the payload is `{ key }`. */
export const metadataType = 'quarterview_post';

/** What is read of one of our own messages. */
export interface OwnMessage {
  ts?: string;
  thread_ts?: string;
  user?: string;
  blocks?: { block_id?: string }[];
  files?: { id?: string; user?: string }[];
  metadata?: { event_type?: string; event_payload?: { [key: string]: unknown } };
}

const pagesMax = 5; // chosen: 1,000 messages
/** At channel level a post under a key is looked for among the messages of the last day: repeats come within minutes (chosen). */
const lookbackS = 86_400;

function carries(message: OwnMessage, key: string): boolean {
  const { metadata, blocks } = message;
  if (metadata?.event_type === metadataType && metadata.event_payload?.key === key) return true;
  const id = keyBlockId(key);
  return blocks?.some((block) => block.block_id === id) ?? false;
}

/**
 * The message that was posted under `key` in a thread, or at channel level within the last day; null when there is none.
 * Plain messages carry the key as metadata, messages with files (where Slack takes no metadata) as the id of their first block.
 */
export async function findByKey(
  api: SlackApi,
  to: { channel: string; thread: string | null },
  key: string,
  nowMs: number,
  signal: AbortSignal,
): Promise<MessageRef | null> {
  let cursor = '';
  const { channel, thread } = to;
  for (let page = 0; page < pagesMax; page++) {
    const paging = { channel, limit: 200, include_all_metadata: true, ...(cursor === '' ? {} : { cursor }) };
    const answer = await api.patiently(signal, (web) =>
      thread === null
        ? web.conversations.history({ ...paging, oldest: Math.max(0, nowMs / 1000 - lookbackS).toFixed(6) })
        : web.conversations.replies({ ...paging, ts: thread }),
    );
    const found = ((answer.messages ?? []) as OwnMessage[]).find((message) => carries(message, key));
    if (found !== undefined) return refOf(channel, found as { ts: string });
    cursor = answer.response_metadata?.next_cursor ?? '';
    if (cursor === '') break;
  }
  return null;
}

/** One message of ours as Slack keeps it; null when it is not there. */
export async function readOwn(api: SlackApi, ref: MessageRef, signal: AbortSignal): Promise<OwnMessage | null> {
  const answer = await api.patiently(signal, (web) =>
    web.conversations.replies({
      channel: ref.channel,
      ts: ref.thread ?? ref.message,
      oldest: ref.message,
      latest: ref.message,
      inclusive: true,
      limit: 10,
    }),
  );
  return ((answer.messages ?? []) as OwnMessage[]).find((message) => message.ts === ref.message) ?? null;
}

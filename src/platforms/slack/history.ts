import type { IncomingMessage } from '../port.ts';
import type { SlackApi } from './api.ts';
import { filesThere, isFromPerson, type SlackMessage, toIncoming } from './messages.ts';
import type { SlackPeople } from './people.ts';

const pageSize = 200; // as Slack recommends at most (Slack docs, pagination; from memory)
/** Pages read at most: 10,000 messages after a known one, 1,000 when nothing is known. Chosen. */
const pagesMax = { after: 50, first: 5 };

type Root = SlackMessage & { reply_count?: number; latest_reply?: string };

async function channelPages(api: SlackApi, channel: string, oldest: string | null, signal: AbortSignal): Promise<Root[]> {
  const found: Root[] = [];
  let cursor = '';
  for (let page = 0; page < (oldest === null ? pagesMax.first : pagesMax.after); page++) {
    const answer = await api.patiently(signal, (web) =>
      web.conversations.history({
        channel,
        limit: pageSize,
        ...(oldest === null ? {} : { oldest }),
        ...(cursor === '' ? {} : { cursor }),
      }),
    );
    const messages = (answer.messages ?? []) as Root[];
    found.push(...messages);
    cursor = answer.response_metadata?.next_cursor ?? '';
    const reached = oldest !== null && messages.some((message) => Number(message.ts) < Number(oldest));
    if (cursor === '' || reached) break;
  }
  return found;
}

async function threadPages(
  api: SlackApi,
  channel: string,
  ts: string,
  oldest: string | null,
  signal: AbortSignal,
): Promise<SlackMessage[]> {
  const found: SlackMessage[] = [];
  let cursor = '';
  do {
    const answer = await api.patiently(signal, (web) =>
      web.conversations.replies({
        channel,
        ts,
        limit: pageSize,
        ...(oldest === null ? {} : { oldest }),
        ...(cursor === '' ? {} : { cursor }),
      }),
    );
    found.push(...((answer.messages ?? []) as SlackMessage[]).filter((message) => message.ts !== ts));
    cursor = answer.response_metadata?.next_cursor ?? '';
  } while (cursor !== '');
  return found;
}

/**
 * People's messages with files after the one with the timestamp `after`, oldest first, at most `limit`. Replies in threads that began
 * up to `lookbackDays` before `after` are found too. With `after` null the channel's last 1,000 messages and their threads are read.
 */
export async function readHistory(
  api: SlackApi,
  people: SlackPeople,
  botUserId: string | null,
  query: { channel: string; after: string | null; limit: number; lookbackDays: number },
  signal: AbortSignal,
): Promise<IncomingMessage[]> {
  const { channel, after } = query;
  const oldest = after === null ? null : Math.max(0, Number(after) - query.lookbackDays * 86_400).toFixed(6);
  const roots = await channelPages(api, channel, oldest, signal);
  const found = new Map<string, SlackMessage>();
  const take = (message: SlackMessage) => {
    const later = after === null || Number(message.ts) > Number(after);
    if (later && isFromPerson(message, botUserId) && filesThere(message).length > 0) found.set(message.ts!, message);
  };
  for (const root of roots) {
    take(root);
    const replied = (root.reply_count ?? 0) > 0;
    const fresh = after === null || root.latest_reply === undefined || Number(root.latest_reply) > Number(after);
    if (replied && fresh) (await threadPages(api, channel, root.ts!, after, signal)).forEach(take);
  }
  const ordered = [...found.values()].sort((a, b) => Number(a.ts) - Number(b.ts)).slice(0, query.limit);
  const messages: IncomingMessage[] = [];
  for (const message of ordered) messages.push(await toIncoming(api, people, channel, message, signal));
  return messages;
}

import { type APIGuildMember, type APIMessage, type APIThreadList, type APIUser, Routes, SnowflakeUtil } from 'discord.js';
import type { IncomingMessage } from '../port.ts';
import type { DiscordApi } from './api.ts';
import { finalFailure } from './failure.ts';
import { incomingOf, isWritten, type MemberPart } from './incoming.ts';
import type { Place, Places } from './places.ts';

const pageSize = 100; // the most for one page (Discord docs, message resource)

const byId = (a: { id: string }, b: { id: string }) => (BigInt(a.id) < BigInt(b.id) ? -1 : 1);

const sentWithFiles = (own: string) => (message: APIMessage) =>
  isWritten(message) && message.attachments.length > 0 && message.author.id !== own;

type ArchivedPage = APIThreadList & { has_more: boolean };

const archivedAt = (thread: unknown) =>
  (thread as { thread_metadata?: { archive_timestamp?: string } } | undefined)?.thread_metadata?.archive_timestamp;

/** Thread as the list gives it; `last_message_id` may be of a deleted message. */
type ListedThread = APIThreadList['threads'][number];

/**
 * Reads a channel and its public threads after a message. The ids of Discord's messages grow with time across channels, so one `after`
 * serves them all. With `after` null it looks at the last page of the channel and of its active threads only.
 */
export function historian(api: DiscordApi, places: Places, me: (signal: AbortSignal) => Promise<string>) {
  /** Messages with files in one channel or thread, oldest first; at least `limit` of them if there are as many. */
  const read = async (id: string, after: string | null, limit: number, signal: AbortSignal) => {
    const own = await me(signal);
    const found: APIMessage[] = [];
    for (let from = after; ; ) {
      const query = { limit: String(pageSize), ...(from !== null && { after: from }) };
      const page = (await api.find<APIMessage[]>(Routes.channelMessages(id), signal, query)) ?? [];
      page.sort(byId);
      found.push(...page.filter(sentWithFiles(own)));
      if (after === null || page.length < pageSize || found.length >= limit) return found;
      from = page.at(-1)!.id;
    }
  };

  /** Threads of the channel that may hold messages after `after`. */
  const threadsOf = async (place: Place, after: string | null, signal: AbortSignal): Promise<string[]> => {
    const active = await api.call<APIThreadList>('GET', Routes.guildActiveThreads(place.guild), signal);
    const threads: ListedThread[] = active.threads.filter(
      (thread) => 'parent_id' in thread && thread.parent_id === place.channel,
    );
    for (let before: string | null = null; after !== null; ) {
      const query: Record<string, string> = { limit: String(pageSize), ...(before !== null && { before }) };
      const page: ArchivedPage | null = await api.find<ArchivedPage>(
        Routes.channelThreads(place.channel, 'public'),
        signal,
        query,
      );
      threads.push(...(page?.threads ?? []));
      const oldest: string | undefined = archivedAt(page?.threads.at(-1));
      if (!page?.has_more || !oldest || Date.parse(oldest) < SnowflakeUtil.timestampFrom(after)) break;
      before = oldest;
    }
    const worth = threads.filter((thread) => {
      const last = 'last_message_id' in thread ? thread.last_message_id : null;
      return after === null || !last || BigInt(last) > BigInt(after);
    });
    return [...new Set(worth.map((thread) => thread.id))];
  };

  const memberReader = (guild: string, signal: AbortSignal) => {
    const members = new Map<string, Promise<Partial<MemberPart> | null>>();
    return (user: APIUser) => {
      const known = members.get(user.id) ?? api.find<APIGuildMember>(Routes.guildMember(guild, user.id), signal);
      members.set(user.id, known);
      return known;
    };
  };

  return async (channel: string, after: string | null, limit: number, signal: AbortSignal): Promise<IncomingMessage[]> => {
    const place = await places.of(channel, signal);
    if (!place) throw finalFailure('gone', `channel ${channel} is gone or hidden from the bot`);
    const found: { message: APIMessage; place: Place }[] = [];
    const ids = [...(place.forum ? [] : [channel]), ...(await threadsOf(place, after, signal))];
    for (const id of ids) {
      const here = id === channel ? place : { ...place, thread: id };
      for (const message of await read(id, after, limit, signal)) found.push({ message, place: here });
    }
    found.sort((a, b) => byId(a.message, b.message));
    const memberOf = memberReader(place.guild, signal);
    const wanted = after === null ? found.slice(-limit) : found.slice(0, limit);
    const messages: IncomingMessage[] = [];
    for (const { message, place: here } of wanted) {
      const member = message.webhook_id || message.author.bot ? null : await memberOf(message.author);
      messages.push(incomingOf(message, here, member));
    }
    return messages;
  };
}

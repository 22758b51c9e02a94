import { type APIMessage, Routes } from 'discord.js';
import type { MessageRef, OutgoingMessage, Platform } from '../port.ts';
import { PlatformError } from '../port.ts';
import type { DiscordApi } from './api.ts';
import { discordCodeOf } from './failure.ts';
import { channelOf } from './incoming.ts';
import { type Draft, draftsOf } from './outgoing.ts';
import { markIn, markLength, postName, shorten } from './text.ts';

/** Discord's error code "a thread has already been created for this message" (Discord docs, JSON error codes). */
const threadExists = 160004;
const remembered = 5000; // chosen: days of posts, some hundred kB

/** A map that forgets its oldest entries. */
function recent<T>() {
  const map = new Map<string, T>();
  return {
    get: (id: string) => map.get(id),
    set: (id: string, value: T) => {
      map.set(id, value);
      for (const oldest of map.keys()) {
        if (map.size <= remembered) break;
        map.delete(oldest);
      }
    },
  };
}

/**
 * Posting, editing and removing. One key is posted once: calls at the same time share one post; Discord itself refuses a nonce seen in the
 * last minutes; and each content ends in 20 invisible characters made from the key, by which a later process finds an earlier post among
 * the last 100 messages (the nonce itself is not given back when a message is read again). A text over 2,000 characters becomes several
 * messages, of which the last, with files and buttons, is the ref; an edit keeps what fits into one. An edit without files keeps the files.
 */
export function outbox(
  api: DiscordApi,
  me: (signal: AbortSignal) => Promise<string>,
  threadTitle: string,
): Pick<Platform, 'post' | 'edit' | 'remove'> {
  const posting = new Map<string, Promise<MessageRef>>();
  const posted = recent<MessageRef>();
  const threads = recent<true>();
  const marks = recent<string>();

  const creating = new Map<string, Promise<boolean>>();
  const createThread = async (start: MessageRef, signal: AbortSignal): Promise<boolean> => {
    const message = await api.find<APIMessage>(Routes.channelMessage(start.channel, start.message), signal);
    if (!message || message.thread) return false;
    const name = shorten(`${threadTitle}: ${message.author.global_name ?? message.author.username}`, 100);
    try {
      await api.call('POST', Routes.threads(start.channel, start.message), signal, { body: { name } });
      return true;
    } catch (error) {
      if (discordCodeOf(error) === threadExists) return false;
      throw error;
    }
  };

  /** The Discord channel to post into; `fresh` when it was made just now and holds nothing yet. */
  const targetOf = async (to: { channel: string; message: MessageRef | null }, signal: AbortSignal) => {
    if (to.message === null) return { id: to.channel, thread: null, fresh: false };
    if (to.message.thread !== null) return { id: to.message.thread, thread: to.message.thread, fresh: false };
    const id = to.message.message;
    if (threads.get(id)) return { id, thread: id, fresh: false };
    const work = creating.get(id) ?? createThread(to.message, signal).finally(() => creating.delete(id));
    creating.set(id, work);
    return { id, thread: id, fresh: await work };
  };

  const findEarlier = async (channel: string, signal: AbortSignal): Promise<Map<string, string>> => {
    const own = await me(signal);
    const messages = await api.call<APIMessage[]>('GET', Routes.channelMessages(channel), signal, { query: { limit: '100' } });
    const found = new Map<string, string>();
    for (const message of messages) {
      const mark = message.author.id === own ? markIn(message.content) : null;
      if (mark !== null) found.set(mark, message.id);
    }
    return found;
  };

  const send = async (channel: string, draft: Draft, name: { nonce: string; mark: string }, signal: AbortSignal) => {
    const body = { ...draft.body, content: draft.body.content + name.mark, nonce: name.nonce, enforce_nonce: true };
    return (await api.call<APIMessage>('POST', Routes.channelMessages(channel), signal, { body, files: draft.files })).id;
  };

  const postNow = async (
    to: { channel: string; message: MessageRef | null },
    message: OutgoingMessage,
    id: string,
    signal: AbortSignal,
  ) => {
    const drafts = await draftsOf(message, markLength);
    const target = await targetOf(to, signal);
    const earlier = target.fresh ? new Map<string, string>() : await findEarlier(target.id, signal);
    let ref: MessageRef | null = null;
    for (const [i, draft] of drafts.entries()) {
      const name = postName(`${id}#${i}`);
      const sent = earlier.get(name.mark) ?? (await send(target.id, draft, name, signal));
      ref = { platform: 'discord', channel: to.message?.channel ?? to.channel, message: sent, thread: target.thread };
      marks.set(sent, name.mark);
    }
    if (target.thread !== null) threads.set(target.thread, true);
    posted.set(id, ref!);
    return ref!;
  };

  const markOf = async (ref: MessageRef, signal: AbortSignal) => {
    const known = marks.get(ref.message);
    if (known !== undefined) return known;
    const message = await api.call<APIMessage>('GET', Routes.channelMessage(channelOf(ref), ref.message), signal);
    return markIn(message.content) ?? '';
  };

  return {
    post: (to, message, key, signal) => {
      const id = `${to.channel}/${to.message?.message ?? ''}/${key}`;
      const earlier = posted.get(id);
      if (earlier) return Promise.resolve(earlier);
      const current = posting.get(id);
      if (current) return current;
      const work = postNow(to, message, id, signal).finally(() => posting.delete(id));
      posting.set(id, work);
      return work;
    },
    edit: async (ref, next, signal) => {
      const mark = await markOf(ref, signal);
      const drafts = await draftsOf(next, markLength + 1);
      const last = drafts.at(-1)!;
      const content = drafts[0].body.content + (drafts.length > 1 ? '…' : '') + mark;
      const body = { ...last.body, allowed_mentions: drafts[0].body.allowed_mentions, content };
      await api.call('PATCH', Routes.channelMessage(channelOf(ref), ref.message), signal, { body, files: last.files });
    },
    remove: async (ref, signal) => {
      try {
        await api.call('DELETE', Routes.channelMessage(channelOf(ref), ref.message), signal);
      } catch (error) {
        if (!(error instanceof PlatformError) || error.code !== 'gone') throw error;
      }
    },
  };
}

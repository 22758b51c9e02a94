/** What stands in the workspace, and how people put it there. */
import type { MessageRef } from '../../../src/platforms/port.ts';
import type { MemberPost } from '../platform-world.ts';
import { type Front, tokens } from './front.ts';

type Json = { [key: string]: unknown };

/** A message as the workspace keeps it. */
export interface Stored {
  ts: string;
  thread_ts?: string;
  user: string;
  text: string;
  bot_id?: string;
  subtype?: string;
  blocks?: Json[];
  files?: Json[];
  metadata?: Json;
  reactions?: { name: string; users: string[] }[];
}

/** A text as Slack writes it. */
export const escaped = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
/** The event that tells of a message. */
export const eventOf = (place: string, message: Stored): Json => ({
  ...message,
  type: 'message',
  channel: place,
  event_ts: message.ts,
  channel_type: 'channel',
});
/** Where a message stands. */
export const refFor = (place: string, message: Stored): MessageRef => ({
  platform: 'slack',
  channel: place,
  message: message.ts,
  thread: message.thread_ts && message.thread_ts !== message.ts ? message.thread_ts : null,
});

/** The posts of a workspace; `channel`: where members post unless they say another. */
export function openPosts(front: Front, channel: string) {
  async function allOf(place: string): Promise<Stored[]> {
    const roots = (await front.call('conversations.history', { channel: place, limit: 999 })).messages as Stored[];
    const threads = await Promise.all(
      roots.map(
        async (root) => (await front.call('conversations.replies', { channel: place, ts: root.ts })).messages as Stored[],
      ),
    );
    const all = new Map([...roots, ...threads.flat()].map((message) => [message.ts, message]));
    return [...all.values()].sort((a, b) => Number(a.ts) - Number(b.ts));
  }

  const stored = async (ref: { channel: string; message: string }) =>
    (await allOf(ref.channel)).find((one) => one.ts === ref.message);

  async function uploadAs(token: string, files: MemberPost['files']): Promise<string[]> {
    const ids: string[] = [];
    for (const file of files) {
      const place = await front.call('files.getUploadURLExternal', { filename: file.name, length: file.body.length }, token);
      await fetch(String(place.upload_url), { method: 'POST', body: new Uint8Array(file.body) });
      ids.push(String(place.file_id));
    }
    return ids;
  }

  async function store(post: MemberPost): Promise<Stored> {
    const place = post.channel ?? channel;
    const thread = post.reply === undefined ? {} : { thread_ts: post.reply.thread ?? post.reply.message };
    const token = post.byBot ? tokens.otherBot : tokens.member;
    if (post.files.length === 0) {
      const sent = await front.call('chat.postMessage', { channel: place, text: escaped(post.text), ...thread }, token);
      return sent.message as Stored;
    }
    const ids = await uploadAs(token, post.files);
    const files = ids.map((id) => ({ id }));
    await front.call(
      'files.completeUploadExternal',
      { files, channel_id: place, initial_comment: escaped(post.text), ...thread },
      token,
    );
    const all = await allOf(place);
    return all.find((message) => message.files?.some((file) => file.id === ids[0]))!;
  }

  return { allOf, stored, uploadAs, store };
}

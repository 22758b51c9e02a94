import { setTimeout as sleep } from 'node:timers/promises';
import { type MessageRef, type OutgoingMessage, PlatformError } from '../port.ts';
import type { SlackApi } from './api.ts';
import { keyBlockId, messageBlocks, messageText } from './blocks.ts';
import { slackErrorOf, toPlatformError } from './errors.ts';
import { findByKey, metadataType, readOwn } from './find.ts';
import { refOf } from './messages.ts';
import { splitLines, visibleText } from './text.ts';
import { upload } from './upload.ts';

export type Target = { channel: string; message: MessageRef | null };

export interface Publisher {
  post(to: Target, message: OutgoingMessage, key: string, signal: AbortSignal): Promise<MessageRef>;
  edit(message: MessageRef, next: OutgoingMessage, signal: AbortSignal): Promise<void>;
  remove(message: MessageRef, signal: AbortSignal): Promise<void>;
  /** Posts to a direct message without a key: reading there would need one more scope, and a repeat does no harm. */
  tell(channel: string, message: OutgoingMessage, signal: AbortSignal): Promise<void>;
}

type Place = { channel: string; thread: string | null };

/**
 * Characters of one message; longer texts go on in further messages. Slack refuses too much in all blocks together
 * (`msg_blocks_too_long`); where that begins is not written, so this is chosen: three blocks of 3,000.
 */
const messageMax = 9000;
/** How many posts are remembered without asking Slack. Chosen: days of posts, some hundred kB. */
const rememberedMax = 2000;
/** Waits between looks for the message of a shared file, which Slack makes in the background. Chosen: 9.5 s in all. */
const shareWaitsMs = [0, 100, 200, 400, 800, 1500, 2500, 4000];

function remember<V>(map: Map<string, V>, key: string, value: V): void {
  map.delete(key);
  map.set(key, value);
  if (map.size > rememberedMax) map.delete(map.keys().next().value!);
}

/**
 * Posting under keys. Where a crash can fall, and what the next call with the same key does:
 * - before the one call that shows the message (chat.postMessage, or files.completeUploadExternal, which shows text, buttons and files
 *   at once): nothing was shown; uploaded bytes that were not completed vanish; everything is done again;
 * - after that call, its answer lost or not: the message carries the key (metadata, block id), is found and returned.
 */
export function createPublisher(api: SlackApi, nowMs: () => number): Publisher {
  const running = new Map<string, Promise<MessageRef>>();
  const posted = new Map<string, MessageRef>();
  /** First file of a share whose message had not appeared yet, by key. */
  const shared = new Map<string, string>();
  const blockIds = new Map<string, string | null>();

  const place = (ref: { channel: string; message: string }) => `${ref.channel}/${ref.message}`;

  /** The message in which a completed upload was shared; null while Slack has not made it. */
  async function shareOf(fileId: string, to: Place, waitsMs: number[], signal: AbortSignal) {
    for (const waitMs of waitsMs) {
      if (waitMs > 0) await sleep(waitMs, undefined, { signal });
      const { file } = await api.patiently(signal, (web) => web.files.info({ file: fileId }));
      const shares = [...(file?.shares?.public?.[to.channel] ?? []), ...(file?.shares?.private?.[to.channel] ?? [])];
      const share = shares.find((one) => (one.thread_ts ?? null) === to.thread) ?? shares[0];
      if (share?.ts !== undefined)
        return refOf(to.channel, { ts: share.ts, ...(to.thread === null ? {} : { thread_ts: to.thread }) });
    }
    return null;
  }

  /** Shows text, controls and files at once; the id of the first file. */
  async function share(to: Place, message: OutgoingMessage, key: string | null, signal: AbortSignal): Promise<string> {
    const blocks = messageBlocks(message, key === null ? null : keyBlockId(key));
    const files = await upload(api, message.files, signal);
    const first = files[0]!.id;
    if (key !== null) remember(shared, key, first);
    await api.once(signal, (web) =>
      web.apiCall('files.completeUploadExternal', {
        files,
        channel_id: to.channel,
        ...(to.thread === null ? {} : { thread_ts: to.thread }),
        blocks,
      }),
    );
    return first;
  }

  async function write(to: Place, message: OutgoingMessage, key: string | null, signal: AbortSignal): Promise<MessageRef> {
    const thread = to.thread === null ? {} : { thread_ts: to.thread };
    const answer = await api.once(signal, (web) =>
      web.chat.postMessage({
        channel: to.channel,
        ...thread,
        text: messageText(message),
        blocks: messageBlocks(message, key === null ? null : keyBlockId(key)),
        ...(key === null ? {} : { metadata: { event_type: metadataType, event_payload: { key } } }),
        unfurl_links: false,
        unfurl_media: false,
      }),
    );
    return refOf(to.channel, { ts: answer.ts!, ...thread });
  }

  async function postOne(to: Place, message: OutgoingMessage, key: string, signal: AbortSignal): Promise<MessageRef> {
    const pending = shared.get(key);
    const early = pending === undefined ? null : await shareOf(pending, to, [0], signal).catch(onlyPassing);
    const found = early ?? (await findByKey(api, to, key, nowMs(), signal));
    if (found !== null) return found;
    if (message.files.length === 0) return write(to, message, key, signal);
    const fileId = await share(to, message, key, signal);
    const ref = (await shareOf(fileId, to, shareWaitsMs, signal)) ?? (await findByKey(api, to, key, nowMs(), signal));
    if (ref !== null) return ref;
    throw new PlatformError('not-ready', 'Slack has not shown the shared files yet', { final: false, retryAfterMs: 5000 });
  }

  /** An upload that was never completed is unknown to files.info: then there is no share. */
  function onlyPassing(error: unknown): null {
    if (error instanceof PlatformError && error.code === 'gone') return null;
    throw error;
  }

  async function postAll(to: Target, message: OutgoingMessage, key: string, signal: AbortSignal): Promise<MessageRef> {
    const target = { channel: to.channel, thread: to.message === null ? null : (to.message.thread ?? to.message.message) };
    const [first = '', ...more] = splitLines(visibleText(message.text), messageMax);
    const ref = await postOne(target, { ...message, text: first }, key, signal);
    remember(blockIds, place(ref), keyBlockId(key));
    const thread = target.thread ?? ref.message;
    for (const [index, text] of more.entries()) {
      const part = { text, files: [], buttons: [], choices: [], mention: null };
      await postOne({ channel: to.channel, thread }, part, `${key}/${index + 2}`, signal);
    }
    remember(posted, key, ref);
    shared.delete(key);
    return ref;
  }

  /** The id of the first block, which an edit must keep so that the key is found afterwards. */
  async function blockIdOf(ref: MessageRef, signal: AbortSignal): Promise<string | null> {
    const kept = blockIds.get(place(ref));
    if (kept !== undefined) return kept;
    const id = (await readOwn(api, ref, signal))?.blocks?.[0]?.block_id ?? null;
    remember(blockIds, place(ref), id);
    return id;
  }

  return {
    async post(to, message, key, signal) {
      signal.throwIfAborted();
      const earlier = posted.get(key) ?? running.get(key);
      if (earlier !== undefined) return earlier;
      const work = postAll(to, message, key, signal).finally(() => running.delete(key));
      running.set(key, work);
      return work;
    },

    async tell(channel, message, signal) {
      const to = { channel, thread: null };
      if (message.files.length > 0) await share(to, message, null, signal);
      else await write(to, message, null, signal);
    },

    async edit(message, next, signal) {
      const blocks = messageBlocks(
        { ...next, text: splitLines(visibleText(next.text), messageMax)[0] ?? '' },
        await blockIdOf(message, signal),
      );
      const files = await upload(api, next.files, signal);
      if (files.length > 0) await api.once(signal, (web) => web.apiCall('files.completeUploadExternal', { files }));
      await api.patiently(signal, (web) =>
        web.chat.update({
          channel: message.channel,
          ts: message.message,
          text: messageText(next),
          blocks,
          ...(files.length > 0 ? { file_ids: files.map((file) => file.id) } : {}),
        }),
      );
    },

    async remove(message, signal) {
      for (const [key, ref] of posted) if (place(ref) === place(message)) posted.delete(key);
      try {
        const own = await readOwn(api, message, signal);
        for (const file of own?.files ?? []) {
          if (file.id === undefined || file.user !== own?.user) continue;
          await api.patiently(signal, (web) => web.files.delete({ file: file.id! })).catch(onlyPassing);
        }
        await api.patiently(signal, (web) => web.chat.delete({ channel: message.channel, ts: message.message }));
      } catch (error) {
        if (signal.aborted) throw error;
        const word = slackErrorOf(error);
        if (word !== 'message_not_found' && word !== 'thread_not_found') throw toPlatformError(error);
      }
    },
  };
}

import { type OutgoingMessage, PlatformError } from '../port.ts';
import type { SlackApi } from './api.ts';
import { messageBlocks, messageText } from './blocks.ts';
import { fromStatus, slackErrorOf, toPlatformError } from './errors.ts';
import type { Publisher } from './publish.ts';

/** Whom a private answer goes to, and how. `responseUrl` comes with commands and is good for 30 minutes and five answers. */
export interface PrivateTarget {
  userId: string;
  channel: string;
  thread: string | null;
  responseUrl: string | null;
}

async function respond(url: string, body: object, signal: AbortSignal): Promise<void> {
  const response = await fetch(url, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
    signal: AbortSignal.any([signal, AbortSignal.timeout(30_000)]), // as in api.ts
  }).catch((cause) => {
    if (signal.aborted) throw signal.reason;
    throw toPlatformError(cause);
  });
  await response.body?.cancel();
  if (!response.ok) throw fromStatus(response.status, response.headers.get('retry-after'));
}

/** Direct message to the person: the way for files, and for people who are not in the channel. */
async function direct(api: SlackApi, publisher: Publisher, to: PrivateTarget, message: OutgoingMessage, signal: AbortSignal) {
  const opened = await api.patiently(signal, (web) => web.conversations.open({ users: to.userId }));
  const channel = opened.channel?.id;
  if (channel === undefined) {
    throw new PlatformError('refused', 'Slack opened no conversation', { final: true, retryAfterMs: null });
  }
  await publisher.tell(channel, message, signal);
}

/**
 * Shows a message to one person. Without files: in place, seen by them only. Slack takes no files there, so these go with the text as a
 * direct message, and the text is shown in place as well.
 */
export async function replyPrivately(
  api: SlackApi,
  publisher: Publisher,
  to: PrivateTarget,
  message: OutgoingMessage,
  signal: AbortSignal,
): Promise<void> {
  const inPlace: OutgoingMessage = { ...message, files: [] };
  const body = { text: messageText(message), blocks: messageBlocks(inPlace, null) };
  if (message.files.length > 0) await direct(api, publisher, to, message, signal);
  if (to.responseUrl !== null) {
    await respond(to.responseUrl, { response_type: 'ephemeral', replace_original: false, ...body }, signal);
    return;
  }
  try {
    await api.once(signal, (web) =>
      web.chat.postEphemeral({
        channel: to.channel,
        user: to.userId,
        ...(to.thread === null ? {} : { thread_ts: to.thread }),
        ...body,
      }),
    );
  } catch (error) {
    const word = slackErrorOf(error);
    if (message.files.length > 0 || (word !== 'user_not_in_channel' && word !== 'not_in_channel' && word !== 'channel_not_found'))
      throw error;
    await direct(api, publisher, to, message, signal);
  }
}

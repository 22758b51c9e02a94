import { type APIMessage, type APIReaction, Routes } from 'discord.js';
import type { Mark, MessageRef } from '../port.ts';
import { PlatformError } from '../port.ts';
import type { DiscordApi } from './api.ts';
import { channelOf } from './incoming.ts';

/** An emoji as Discord addresses it: the sign itself, or `name:id` of a server's own emoji; the form `<:name:id>` is taken too. */
function addressOf(emoji: string): string {
  return emoji.replace(/^<a?:(\w+:\d+)>$/, '$1');
}

/** For comparing: variation selectors come and go. */
const plain = (emoji: string) => emoji.replaceAll('\uFE0F', '');

const emojiOf = (reaction: APIReaction) =>
  reaction.emoji.id ? `${reaction.emoji.name}:${reaction.emoji.id}` : (reaction.emoji.name ?? '');

/** Sets exactly these marks: reads our reactions, adds what is missing, then takes away what is too much. Other reactions stay. */
export async function setMarks(
  api: DiscordApi,
  emoji: Record<Mark, string>,
  ref: MessageRef,
  marks: Mark[],
  signal: AbortSignal,
): Promise<void> {
  const message = await api.call<APIMessage>('GET', Routes.channelMessage(channelOf(ref), ref.message), signal);
  const ours = (message.reactions ?? []).filter((reaction) => reaction.me).map(emojiOf);
  const managed = new Set(Object.values(emoji).map((sign) => plain(addressOf(sign))));
  const wanted = new Map(marks.map((mark) => [plain(addressOf(emoji[mark])), addressOf(emoji[mark])]));
  const has = new Set(ours.map(plain));
  const route = (sign: string) => Routes.channelMessageOwnReaction(channelOf(ref), ref.message, encodeURIComponent(sign));
  for (const [sign, address] of wanted) {
    if (!has.has(sign)) await api.call('PUT', route(address), signal);
  }
  for (const sign of ours) {
    if (!managed.has(plain(sign)) || wanted.has(plain(sign))) continue;
    await api.call('DELETE', route(sign), signal).catch((error: unknown) => {
      if (!(error instanceof PlatformError) || error.code !== 'gone') throw error;
    });
  }
}

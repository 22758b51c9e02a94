import { type APIChannel, ChannelType, Routes } from 'discord.js';
import type { DiscordApi } from './api.ts';

/** Where a Discord channel id stands: a channel itself, or a thread within one. */
export interface Place {
  guild: string;
  channel: string;
  thread: string | null;
  /** Threads of a forum start with a message of their own, not with one of the channel. */
  forum: boolean;
}

export interface Places {
  /** The place of a channel or thread; null when it is gone, hidden from the bot or outside a server. */
  of(id: string, signal: AbortSignal): Promise<Place | null>;
  /** Learns from a gateway payload, which saves the look-up. */
  learn(
    channel: Pick<APIChannel, 'id' | 'type'> & { guild_id?: string | undefined; parent_id?: string | null | undefined },
  ): void;
}

const remembered = 5000; // chosen: more channels and threads than are alive at once
const threadTypes: ChannelType[] = [ChannelType.PublicThread, ChannelType.PrivateThread, ChannelType.AnnouncementThread];

/** Looks channels up once and remembers the last 5,000. */
export function rememberPlaces(api: DiscordApi): Places {
  const known = new Map<string, Promise<Place | null>>();
  const keep = (id: string, place: Promise<Place | null>) => {
    known.delete(id);
    known.set(id, place);
    for (const oldest of known.keys()) {
      if (known.size <= remembered) break;
      known.delete(oldest);
    }
    place.catch(() => known.delete(id));
    return place;
  };
  const placeOf = async (channel: Parameters<Places['learn']>[0], signal: AbortSignal): Promise<Place | null> => {
    if (!channel.guild_id) return null;
    const place = { guild: channel.guild_id, channel: channel.id, thread: null, forum: channel.type === ChannelType.GuildForum };
    if (!threadTypes.includes(channel.type) || !channel.parent_id) return place;
    const parent = await of(channel.parent_id, signal);
    return { ...place, channel: channel.parent_id, thread: channel.id, forum: parent?.forum ?? false };
  };
  const lookUp = async (id: string, signal: AbortSignal) => {
    const channel = await api.find<APIChannel>(Routes.channel(id), signal);
    return channel && placeOf(channel as never, signal);
  };
  const of: Places['of'] = (id, signal) => known.get(id) ?? keep(id, lookUp(id, signal));
  return {
    of,
    learn: (channel) => {
      if (channel.guild_id && !(threadTypes.includes(channel.type) && !channel.parent_id))
        void keep(channel.id, placeOf(channel, new AbortController().signal));
    },
  };
}

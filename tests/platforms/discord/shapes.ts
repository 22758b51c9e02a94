/** Discord objects as its REST interface and gateway send them, full by the official schemas. */
import type { Json } from './spec.ts';

/** Discord counts ids from 2015 (Discord docs, snowflakes). */
const epochMs = 1_420_070_400_000n;

/** Ids and times that only grow: one second a step from a fixed day. */
export function idSource(startMs = Date.UTC(2026, 2, 2, 17)) {
  let ms = BigInt(startMs);
  let count = 0n;
  return () => {
    ms += 1000n;
    count += 1n;
    return (((ms - epochMs) << 22n) | (count & 0xfffn)).toString();
  };
}

export const timeOf = (id: string) => new Date(Number((BigInt(id) >> 22n) + epochMs)).toISOString();

export const newer = (a: { id: string }, b: { id: string }) => (BigInt(a.id) < BigInt(b.id) ? 1 : -1);

export interface User extends Json {
  id: string;
  username: string;
}

export const user = (id: string, username: string, global: string | null, bot: boolean): User => ({
  id,
  username,
  avatar: null,
  discriminator: '0',
  public_flags: 0,
  flags: 0,
  bot,
  global_name: global,
  primary_guild: null,
});

export const member = (of: User, nick: string | null, roles: string[]) => ({
  avatar: null,
  banner: null,
  communication_disabled_until: null,
  flags: 0,
  joined_at: '2025-01-05T10:00:00.000Z',
  nick,
  pending: false,
  premium_since: null,
  roles,
  user: of,
  mute: false,
  deaf: false,
});

export const role = (id: string, name: string, permissions: bigint) => ({
  id,
  name,
  permissions: permissions.toString(),
  position: 0,
  color: 0,
  colors: { primary_color: 0, secondary_color: null, tertiary_color: null },
  hoist: false,
  managed: false,
  mentionable: true,
  icon: null,
  unicode_emoji: null,
  flags: 0,
});

export interface Overwrite extends Json {
  id: string;
  type: 0 | 1;
  allow: string;
  deny: string;
}

export const textChannel = (id: string, guild: string, name: string, type: 0 | 15 = 0) => ({
  id,
  type,
  last_message_id: null as string | null,
  flags: 0,
  guild_id: guild,
  name,
  parent_id: null,
  rate_limit_per_user: 0,
  topic: null,
  position: 0,
  permission_overwrites: [] as Overwrite[],
  nsfw: false,
});

export const thread = (id: string, guild: string, parent: string, name: string, owner: string) => ({
  id,
  type: 11 as const,
  last_message_id: null as string | null,
  flags: 0,
  guild_id: guild,
  name,
  parent_id: parent,
  rate_limit_per_user: 0,
  owner_id: owner,
  thread_metadata: {
    archived: false,
    archive_timestamp: timeOf(id) as string,
    auto_archive_duration: 1440,
    locked: false,
    create_timestamp: timeOf(id),
  },
  message_count: 0,
  member_count: 1,
  total_message_sent: 0,
});

export type Channel = ReturnType<typeof textChannel> | ReturnType<typeof thread>;

export interface Attachment extends Json {
  id: string;
  filename: string;
  size: number;
  url: string;
  content_type?: string;
  description?: string;
}

export interface Reaction extends Json {
  emoji: { id: string | null; name: string };
  count: number;
  me: boolean;
}

export interface Message extends Json {
  id: string;
  channel_id: string;
  author: User;
  content: string;
  attachments: Attachment[];
  components: Json[];
  reactions?: Reaction[];
  thread?: Channel;
}

export const message = (
  id: string,
  channel: string,
  author: User,
  content: string,
  attachments: Attachment[],
  more: Json = {},
): Message => ({
  type: 0,
  content,
  mentions: [],
  mention_roles: [],
  attachments,
  embeds: [],
  timestamp: timeOf(id),
  edited_timestamp: null,
  flags: 0,
  components: [],
  id,
  channel_id: channel,
  author,
  pinned: false,
  mention_everyone: false,
  tts: false,
  ...more,
});

export const reaction = (emoji: string, me: boolean): Reaction => {
  const [name, id] = emoji.split(':');
  return {
    emoji: { id: id ?? null, name: name! },
    count: 1,
    count_details: { burst: 0, normal: 1 },
    burst_colors: [],
    me_burst: false,
    me,
  };
};

/** Components as stored: each gets a number, as Discord does. */
export function stored(components: Json[]): Json[] {
  let count = 0;
  const number = (component: Json): Json => ({
    ...component,
    id: ++count,
    ...(component.type === 3 && { min_values: 1, max_values: 1 }),
    ...(Array.isArray(component.components) && { components: component.components.map(number) }),
  });
  return components.map(number);
}

export const application = (id: string, bot: User, flags: number) => ({
  id,
  name: 'Millrace desk',
  icon: null,
  description: '',
  type: null,
  flags,
  flags_new: String(flags),
  bot,
  bot_public: false,
  bot_require_code_grant: false,
  verify_key: '00'.repeat(32),
  redirect_uris: [],
  interactions_endpoint_url: null,
  role_connections_verification_url: null,
  owner: user('55', 'odo', 'Odo', false),
  approximate_guild_count: 1,
  approximate_user_install_count: 0,
  approximate_user_authorization_count: 0,
  explicit_content_filter: 0,
  team: null,
  eligible_oauth2_scopes: [],
});

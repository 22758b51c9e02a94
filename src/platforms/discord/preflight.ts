import {
  type APIApplication,
  type APIGuildChannel,
  type APIGuildMember,
  type APIRole,
  type APIUser,
  ApplicationFlags,
  type ChannelType,
  OverwriteType,
  PermissionFlagsBits,
  PermissionsBitField,
  Routes,
} from 'discord.js';
import type { PreflightRow } from '../port.ts';
import { PlatformError } from '../port.ts';
import type { DiscordApi } from './api.ts';
import type { DiscordOptions } from './options.ts';

/** What the bot must be allowed to do in a watched channel, with the names of Discord's settings page. */
const watchedPermissions = {
  ViewChannel: 'View Channels',
  ReadMessageHistory: 'Read Message History',
  SendMessages: 'Send Messages',
  CreatePublicThreads: 'Create Public Threads',
  SendMessagesInThreads: 'Send Messages in Threads',
  AddReactions: 'Add Reactions',
  AttachFiles: 'Attach Files',
  EmbedLinks: 'Embed Links',
} as const;
type Needed = keyof typeof watchedPermissions;
const inWatched = Object.keys(watchedPermissions) as Needed[];
/** Where only texts with buttons are posted, and found again after a crash. */
const forWords: Needed[] = ['ViewChannel', 'ReadMessageHistory', 'SendMessages'];

/** The permissions as one number, for the invite address. */
export const invitePermissions = inWatched.reduce((sum, name) => sum | PermissionFlagsBits[name], 0n);

type Channel = APIGuildChannel<ChannelType.GuildText> & { guild_id: string };

/** A member's permissions in a channel, in Discord's order: everyone, roles, member (Discord docs, permissions, overwrites). */
function permissionsIn(channel: Channel, member: APIGuildMember, roles: APIRole[]): PermissionsBitField {
  const own = new Set([channel.guild_id, ...member.roles]);
  let bits = roles.filter((role) => own.has(role.id)).reduce((sum, role) => sum | BigInt(role.permissions), 0n);
  if (bits & PermissionFlagsBits.Administrator) return new PermissionsBitField(PermissionsBitField.All);
  const overwrites = channel.permission_overwrites ?? [];
  const apply = (chosen: typeof overwrites) => {
    const allow = chosen.reduce((sum, o) => sum | BigInt(o.allow), 0n);
    const deny = chosen.reduce((sum, o) => sum | BigInt(o.deny), 0n);
    bits = (bits & ~deny) | allow;
  };
  apply(overwrites.filter((o) => o.id === channel.guild_id));
  apply(overwrites.filter((o) => o.type === OverwriteType.Role && o.id !== channel.guild_id && own.has(o.id)));
  apply(overwrites.filter((o) => o.type === OverwriteType.Member && o.id === member.user.id));
  return new PermissionsBitField(bits);
}

const faultOf = (error: unknown) => {
  if (!(error instanceof PlatformError)) throw error;
  return error;
};

async function channelRow(
  api: DiscordApi,
  id: string,
  use: string,
  needed: readonly Needed[],
  me: string,
  signal: AbortSignal,
): Promise<PreflightRow> {
  const what = `Discord: ${use} ${id}`;
  try {
    const channel = await api.call<Channel>('GET', Routes.channel(id), signal);
    const member = await api.call<APIGuildMember>('GET', Routes.guildMember(channel.guild_id, me), signal);
    const roles = await api.call<APIRole[]>('GET', Routes.guildRoles(channel.guild_id), signal);
    const held = permissionsIn(channel, member, roles);
    const missing = needed.filter((name) => !held.has(name, false)).map((name) => watchedPermissions[name]);
    return {
      what: `Discord: ${use} #${channel.name}`,
      ok: missing.length === 0,
      found: missing.length === 0 ? 'all permissions' : `missing: ${missing.join(', ')}`,
      fix: `Open the settings of #${channel.name}, Permissions, choose the bot's role and allow: ${(missing.length > 0 ? missing : ['nothing more']).join(', ')}.`,
    };
  } catch (error) {
    const { code, message } = faultOf(error);
    const fix =
      code === 'unreachable'
        ? 'Check that this host reaches discord.com, then start again.'
        : `Invite the bot to the server of channel ${id}, allow it View Channels there, or correct the channel's id in the settings.`;
    return { what, ok: false, found: message, fix };
  }
}

/** Checks token, message content intent and the permissions in each channel. Never throws for a fault of Discord: it becomes a row. */
export async function preflightRows(
  api: DiscordApi,
  { channels, coachChannel, moderatorChannel }: Pick<DiscordOptions, 'channels' | 'coachChannel' | 'moderatorChannel'>,
  signal: AbortSignal,
): Promise<PreflightRow[]> {
  let user: APIUser;
  let application: APIApplication;
  try {
    user = await api.call<APIUser>('GET', Routes.user('@me'), signal);
    application = await api.call<APIApplication>('GET', Routes.currentApplication(), signal);
  } catch (error) {
    const { code, message } = faultOf(error);
    const fix =
      code === 'forbidden'
        ? 'Developer portal, Bot, Reset Token; put the new token into DISCORD_TOKEN.'
        : 'Check that this host reaches discord.com, then start again.';
    return [{ what: 'Discord: token', ok: false, found: message, fix }];
  }
  const content =
    ((application.flags ?? 0) & (ApplicationFlags.GatewayMessageContent | ApplicationFlags.GatewayMessageContentLimited)) !== 0;
  const rows: PreflightRow[] = [
    { what: 'Discord: token', ok: true, found: `bot ${user.username}`, fix: '' },
    {
      what: 'Discord: message content intent',
      ok: content,
      found: content ? 'on' : 'off: captions and clips would arrive empty',
      fix: content ? '' : 'Developer portal, Bot, Privileged Gateway Intents: switch Message Content Intent on and save.',
    },
  ];
  if (channels.length === 0) {
    rows.push({
      what: 'Discord: watched channels',
      ok: false,
      found: 'none',
      fix: 'Name at least one channel id in the settings.',
    });
  }
  const named: [string | null, string, readonly Needed[]][] = [
    ...channels.map((id): [string, string, readonly Needed[]] => [id, 'watched channel', inWatched]),
    [coachChannel, "coaches' channel", inWatched],
    [moderatorChannel, "moderators' channel", forWords],
  ];
  for (const [i, [id, use, needed]] of named.entries()) {
    if (id === null || named.slice(0, i).some(([earlier]) => earlier === id)) continue;
    rows.push(await channelRow(api, id, use, needed, user.id, signal));
  }
  return rows;
}

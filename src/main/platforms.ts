import { join } from 'node:path';
import type { Logger } from 'pino';
import type { BotSettings } from '../bot/deps.ts';
import { useCases } from '../bot/desk/index.ts';
import { whoMay } from '../bot/desk/permissions.ts';
import type { Command, MessageRef, Platform } from '../platforms/port.ts';
import type { Role } from '../platforms/room/people.ts';
import { createRoom, type Room } from '../platforms/room/room.ts';
import { type Configuration, projectPath } from './project.ts';

/** The caption under which the sample clip is posted. */
const sampleClip = { path: projectPath('samples/squat-side.mp4'), caption: 'squat 60 kg x2' };

const roomChannels = { clips: 'clips', coaches: 'coaches', moderators: 'moderators' };

/** Whether the local room is served. */
export function servesRoom({ environment, settings }: Configuration): boolean {
  const alone = environment.discordToken === null && environment.slack === null;
  return settings.room.serve === 'always' || (settings.room.serve === 'alone' && alone);
}

/** Adapters of the chat services whose tokens are set, loaded only then; nothing connects yet. */
export async function chatPlatforms({ environment, settings }: Configuration, log: Logger): Promise<Platform[]> {
  const { discord, slack } = settings;
  const platforms: Platform[] = [];
  if (environment.discordToken !== null) {
    const { discordPlatform } = await import('../platforms/discord/discord.ts');
    const { channels, coachChannel, moderatorChannel, emoji } = discord;
    const own = log.child({ platform: 'discord' });
    const where = { channels, coachChannel, moderatorChannel };
    platforms.push(discordPlatform({ token: environment.discordToken, ...where, emoji, log: own }));
  }
  if (environment.slack !== null) {
    const { createSlackPlatform } = await import('../platforms/slack/slack.ts');
    const { botToken, appToken, signingSecret } = environment.slack;
    const { channels, coachChannel, moderatorChannel, emoji, host, port } = slack;
    const mode =
      appToken !== null
        ? ({ kind: 'socket', appToken } as const)
        : ({ kind: 'http', signingSecret: signingSecret ?? '', host, port } as const);
    const where = { channels, coachChannel, moderatorChannel };
    platforms.push(createSlackPlatform({ botToken, mode, ...where, emoji, log: log.child({ platform: 'slack' }) }));
  }
  return platforms;
}

/** The local room over its part of the data folder. Throws when that cannot be written. */
export function localRoom(configuration: Configuration, log: Logger): Room {
  const { environment, settings, dataFolder } = configuration;
  const { host, port, publicHosts, community, keepDays } = settings.room;
  const botSettings = botSettingsOf(configuration);
  return createRoom({
    dataFolder: join(dataFolder, 'room'),
    ...{ host, port, publicHosts, community, keepDays, sampleClip },
    passwords: environment.roomPasswords,
    roleFor: (command) => roleFor(command, botSettings),
    channels: roomChannels,
    maxUploadBytes: settings.limits.maxBytes,
    onError: (error) => log.error({ error: String(error) }, 'the room could not answer a request'),
  });
}

/** The least role that the room offers a command to, as the desk would judge it. */
function roleFor({ name }: Command, settings: BotSettings): Role {
  const useCase = useCases.find(({ command }) => command?.name === name);
  const who = useCase === undefined ? 'anyone' : whoMay(useCase, settings);
  return who === 'anyone' ? 'member' : who;
}

/** The settings as the use cases want them. */
export function botSettingsOf({ settings }: Configuration): BotSettings {
  const { discord, slack, replies, limits, retention, people, members, coaches, moderators } = settings;
  const set = <T>(name: string, value: T | null) => (value === null ? {} : { [name]: value });
  return {
    watched: { discord: discord.channels, slack: slack.channels, room: [roomChannels.clips] },
    coachChannel: {
      ...set('discord', discord.coachChannel),
      ...set('slack', slack.coachChannel),
      room: roomChannels.coaches,
    },
    coachMention: { ...set('discord', discord.coachMention), ...set('slack', slack.coachMention) },
    moderatorChannel: {
      ...set('discord', discord.moderatorChannel),
      ...set('slack', slack.moderatorChannel),
      room: roomChannels.moderators,
    },
    mentionEveryMin: replies.mentionEveryMin,
    limits,
    progressAfterS: replies.progressAfterS,
    progressEditEveryS: replies.progressEditEveryS,
    retryAfterMs: replies.retryAfterS * 1000,
    appealsPerWeek: members.appealsPerWeek,
    askedViewsPerWeek: members.askedViewsPerWeek,
    clipHours: retention.clipHours,
    factsDays: retention.factsDays,
    people: {
      discord: people.discord,
      slack: people.slack,
      room: { coaches: ['coach'], moderators: ['moderator'] },
    },
    digestHour: coaches.digestHour,
    zone: coaches.zone,
    ...moderators,
    may: people.may,
  };
}

/** Address of a message for people; null where the settings do not tell enough. Forms of Discord's and Slack's links from memory. */
export function threadUrlOf({ settings }: Configuration, room: Room | null): (ref: MessageRef) => string | null {
  return (ref) => {
    if (ref.platform === 'room') return room?.linkTo(ref) ?? null;
    if (ref.platform === 'discord') {
      const { server } = settings.discord;
      return server === null ? null : `https://discord.com/channels/${server}/${ref.thread ?? ref.channel}/${ref.message}`;
    }
    const { workspace } = settings.slack;
    return workspace === null ? null : `${workspace}/archives/${ref.channel}/p${ref.message.replace('.', '')}`;
  };
}

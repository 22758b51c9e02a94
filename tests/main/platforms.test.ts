import { describe, expect, it } from 'vitest';
import { createLog } from '../../src/logging/log.ts';
import { botSettingsOf, chatPlatforms, servesRoom, threadUrlOf } from '../../src/main/platforms.ts';
import type { Configuration } from '../../src/main/project.ts';
import { readEnvironment } from '../../src/settings/environment.ts';
import { parseSettings } from '../../src/settings/load.ts';

const log = createLog({ level: 'fatal', format: 'json', secrets: [], write() {} });
const configuration = (settings: string, variables: Record<string, string> = {}): Configuration => ({
  environment: readEnvironment(variables),
  settings: parseSettings(settings, 'settings.yaml'),
  rules: {},
  rulesText: '',
  dataFolder: '/nowhere',
});
const slack = { SLACK_BOT_TOKEN: 'xoxb-1', SLACK_APP_TOKEN: 'xapp-1' };

describe('which platforms run', () => {
  it.each<[string, Record<string, string>, string, string[], boolean]>([
    ['nothing set', {}, '', [], true],
    ['Discord', { DISCORD_TOKEN: 'd' }, '', ['discord'], false],
    ['Slack', slack, '', ['slack'], false],
    ['both, and the room', { DISCORD_TOKEN: 'd', ...slack }, 'room: { serve: always }', ['discord', 'slack'], true],
    ['no room', {}, 'room: { serve: never }', [], false],
  ])('%s', async (_, variables, settings, names, room) => {
    const made = configuration(settings, variables);
    expect((await chatPlatforms(made, log)).map(({ name }) => name)).toEqual(names);
    expect(servesRoom(made)).toBe(room);
  });
});

describe('settings for the bot', () => {
  it('has no coach channel and no mention where none is named', () => {
    const { coachChannel, coachMention, watched, retryAfterMs } = botSettingsOf(configuration(''));
    expect(coachChannel).toEqual({ room: 'coaches' });
    expect(coachMention).toEqual({});
    expect(watched).toEqual({ discord: [], slack: [], room: ['clips'] });
    expect(retryAfterMs).toBe(2000);
  });

  it('takes channels and roles as written', () => {
    const text =
      'discord: { channels: ["11"], coachChannel: "22", coachMention: "33" }\nslack: { coachChannel: C2, coachMention: S3 }';
    const { coachChannel, coachMention, watched } = botSettingsOf(configuration(text));
    expect(coachChannel).toEqual({ discord: '22', slack: 'C2', room: 'coaches' });
    expect(coachMention).toEqual({ discord: '33', slack: 'S3' });
    expect(watched.discord).toEqual(['11']);
  });

  it('refuses two marks with one emoji, and an id that YAML made a number of', () => {
    expect(() => configuration('discord: { emoji: { fix: ✅ } }')).toThrow(/two marks have the same emoji/);
    expect(() => configuration('discord: { channels: [1234567890123456789] }')).toThrow(/discord\.channels\.0/);
  });
});

describe('links to a thread', () => {
  const discord = { platform: 'discord', channel: '11', message: '77', thread: null } as const;
  const inSlack = { platform: 'slack', channel: 'C1', message: '1700000000.000100', thread: null } as const;

  it('are there when the settings tell where', () => {
    const url = threadUrlOf(configuration('discord: { server: "99" }\nslack: { workspace: https://millrace.slack.com }'), null);
    expect(url(discord)).toBe('https://discord.com/channels/99/11/77');
    expect(url({ ...discord, thread: '55' })).toBe('https://discord.com/channels/99/55/77');
    expect(url(inSlack)).toBe('https://millrace.slack.com/archives/C1/p1700000000000100');
  });

  it('are left out when they do not', () => {
    const url = threadUrlOf(configuration(''), null);
    expect([url(discord), url(inSlack), url({ ...discord, platform: 'room' })]).toEqual([null, null, null]);
  });
});

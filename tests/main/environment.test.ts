import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { readEnvironment } from '../../src/settings/environment.ts';
import { SettingsError } from '../../src/settings/settings-error.ts';

const deployed = (name: string) => readFileSync(fileURLToPath(new URL(`../../deploy/${name}`, import.meta.url)), 'utf8');

describe('the environment', () => {
  it('says nothing when it is empty, or its lines are', () => {
    const empty = readEnvironment({});
    expect(empty).toMatchObject({ production: false, discordToken: null, slack: null, redisUrl: null, logFormat: 'plain' });
    expect(readEnvironment({ DISCORD_TOKEN: '', SLACK_BOT_TOKEN: ' ', REDIS_URL: '', LOG_LEVEL: '' })).toEqual(empty);
  });

  it('writes JSON in production unless told otherwise', () => {
    expect(readEnvironment({ NODE_ENV: 'production' }).logFormat).toBe('json');
    expect(readEnvironment({ NODE_ENV: 'production', LOG_FORMAT: 'plain' }).logFormat).toBe('plain');
  });

  it.each<[string, Record<string, string>, RegExp]>([
    ['a bot token of Slack alone', { SLACK_BOT_TOKEN: 'xoxb-1' }, /SLACK_BOT_TOKEN: .*SLACK_APP_TOKEN .*SLACK_SIGNING_SECRET/],
    ['the wrong token of Slack', { SLACK_BOT_TOKEN: 'xapp-opensesame' }, /SLACK_BOT_TOKEN: it begins with xoxb-/],
    ['another kind of database', { DATABASE_URL: 'mysql://opensesame' }, /DATABASE_URL: it looks like postgres:/],
    ['a Redis without scheme', { REDIS_URL: 'opensesame:6379' }, /REDIS_URL: it looks like redis:/],
    ['a short secret', { CLIP_SECRET: 'opensesame' }, /CLIP_SECRET: it has 16 characters/],
    ['an unknown level', { LOG_LEVEL: 'loud' }, /LOG_LEVEL/],
  ])('refuses %s by name, without its value', (_, variables, message) => {
    const read = () => readEnvironment(variables);
    expect(read).toThrow(SettingsError);
    expect(read).toThrow(message);
    expect(read).not.toThrow(/opensesame/);
  });
});

describe('deploy', () => {
  const code = readFileSync(fileURLToPath(new URL('../../src/settings/environment.ts', import.meta.url)), 'utf8');
  const known = [...code.matchAll(/^ {2}([A-Z_]+): /gm)].map(([, name]) => name!);

  it('.env.example has every variable, and can be used as it is', () => {
    const lines = deployed('.env.example')
      .split('\n')
      .filter((line) => /^[A-Z_]+=/.test(line));
    const given = Object.fromEntries(lines.map((line) => [line.slice(0, line.indexOf('=')), line.slice(line.indexOf('=') + 1)]));
    expect(Object.keys(given).sort()).toEqual([...known, 'POSTGRES_PASSWORD'].sort());
    expect(readEnvironment(given)).toMatchObject({ production: true, discordToken: null, databaseUrl: null });
  });

  it('compose.yaml gives the worker no token, and both only variables that are read', () => {
    const { services } = parse(deployed('compose.yaml'), { merge: true }) as {
      services: Record<string, { environment?: Record<string, string>; env_file?: string[]; volumes?: string[] }>;
    };
    expect(Object.keys(services)).toEqual(['bot', 'worker', 'redis', 'postgres']);
    const worker = Object.keys(services.worker?.environment ?? {});
    expect(services.worker?.env_file).toBeUndefined();
    expect(worker.filter((name) => /TOKEN|SECRET|PASSWORD|DATABASE/.test(name))).toEqual([]);
    expect(known).toEqual(expect.arrayContaining([...worker, ...Object.keys(services.bot?.environment ?? {})]));
  });
});

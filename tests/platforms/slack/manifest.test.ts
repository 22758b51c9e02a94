import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { parse } from 'yaml';
import { botScopes } from '../../../src/platforms/slack/options.ts';

const manifest = parse(readFileSync(new URL('../../../deploy/slack-manifest.yaml', import.meta.url), 'utf8')) as {
  display_information: { name: string; description: string };
  features: {
    bot_user: { display_name: string };
    slash_commands: { command: string; description: string; usage_hint: string }[];
  };
  oauth_config: { scopes: { bot: string[] } };
  settings: {
    event_subscriptions: { bot_events: string[] };
    socket_mode_enabled: boolean;
    interactivity: { is_enabled: boolean };
  };
};

it('the manifest asks for exactly the scopes that the adapter checks', () => {
  expect(manifest.oauth_config.scopes.bot).toEqual([...botScopes]);
});

it('the manifest brings the events and the command that the adapter listens to', () => {
  expect(manifest.settings).toMatchObject({
    event_subscriptions: { bot_events: ['message.channels', 'message.groups'] },
    interactivity: { is_enabled: true },
    socket_mode_enabled: true,
  });
  expect(manifest.features.slash_commands.map((one) => one.command)).toEqual(['/quarterview']);
  // 35 and 140 characters: Slack docs, app manifest reference.
  expect(manifest.display_information.name.length).toBeLessThanOrEqual(35);
  expect(manifest.display_information.description.length).toBeLessThanOrEqual(140);
});

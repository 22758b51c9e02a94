/** Tokens that are taken back while the bot runs, with the real adapters on the pretended Discord and on emulate's Slack. */
import { setTimeout as wait } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { discordPlatform } from '../../src/platforms/discord/discord.ts';
import { createSlackPlatform } from '../../src/platforms/slack/slack.ts';
import { until } from '../bot/setup.ts';
import { type Fake, startFake } from '../platforms/discord/fake.ts';
import { optionsFor } from '../platforms/discord/world.ts';
import { openWorld } from '../platforms/slack/world.ts';
import { clipOf, closeAfterEach, sceneOn } from './on-platform.ts';

const later = closeAfterEach();

async function onDiscord(options: Parameters<typeof optionsFor>[1] = {}) {
  const fake = await startFake();
  later(fake.close);
  const scene = await sceneOn(later, { watched: { discord: ['801'] } });
  const adapter = () => discordPlatform(optionsFor(fake, options));
  return { fake, scene, adapter };
}
const say = (fake: Fake) =>
  fake.say('801', fake.state.people.juno, {
    text: 'Squat 100 kg x5',
    files: [clipOf('fix')],
  });
const answersOf = (fake: Fake) =>
  [...fake.state.messages.values()].filter((m) => m.author.id === fake.state.bot.id && m.content.includes('reply'));

it('Discord: keeps what waits, names the variable, and answers once after a start with the new token', async () => {
  const { fake, scene, adapter } = await onDiscord();
  const bot = await scene.start(adapter());
  await until(() => bot.platforms().discord?.state === 'up');
  const old = fake.state.token;
  fake.state.token = 'MTAx.new.token';
  say(fake); // the line still stands: the event comes, and no call is taken
  await until(() => bot.platforms().discord?.state === 'refused');
  expect(bot.platforms().discord?.why).toContain('DISCORD_TOKEN');
  const asked = fake.state.calls.length;
  await until(() => fake.state.calls.length > asked + 3);
  expect(await scene.ledger.inState(['failed', 'undeliverable'])).toEqual([]);
  expect(scene.lines('refuses the bot')).toHaveLength(1);
  expect(scene.lines('refuses the bot')[0]).toContain('DISCORD_TOKEN');
  expect(scene.operator.join()).not.toContain(old);
  await bot.stop(0);
  const next = await scene.start(adapter());
  await scene.answered(1);
  expect(answersOf(fake)).toHaveLength(1);
  expect(next.platforms().discord).toEqual({ state: 'up', why: null });
});

it('Discord: says that it hears nothing any more when the token is reset and nobody posts', async () => {
  const { fake, scene, adapter } = await onDiscord();
  const bot = await scene.start(adapter());
  fake.state.token = 'MTAx.new.token';
  fake.gateway.drop(4004, true);
  await until(() => bot.platforms().discord?.state === 'refused');
  expect(scene.lines('refuses the bot')).toHaveLength(1);
  expect(scene.lines('refuses the bot')[0]).toContain('DISCORD_TOKEN');
});

it('Discord: is there again by itself when an intent was off for a while', async () => {
  const { fake, scene, adapter } = await onDiscord({ afterFinalMs: 50 });
  const bot = await scene.start(adapter());
  await until(async () => (await scene.ledger.cursor('watched-since/discord/801')) !== null);
  const { flags } = fake.state.app;
  fake.state.app.flags = 0;
  fake.gateway.drop(4014, true);
  await until(() => bot.platforms().discord?.state === 'refused');
  expect(scene.lines('refuses the bot')[0]).toContain('Message Content Intent');
  const tried = fake.gateway.record.identifies;
  await until(() => fake.gateway.record.identifies > tried);
  say(fake); // missed: nobody listens
  fake.state.app.flags = flags;
  await scene.answered(1);
  expect(bot.platforms().discord).toEqual({ state: 'up', why: null });
  expect(scene.lines('refuses the bot')).toHaveLength(1);
});

async function onSlack(kind: 'http' | 'socket') {
  const world = await openWorld(kind);
  later(world.close);
  const { channel } = world;
  const scene = await sceneOn(later, { watched: { slack: [channel] } });
  const bot = await scene.start(createSlackPlatform(world.options));
  await until(async () => (await scene.ledger.cursor(`watched-since/slack/${channel}`)) !== null);
  const post = () =>
    world.postMember({
      text: 'Squat 100 kg x5',
      files: [clipOf('fix')],
    });
  const answers = async () => (await world.seen(channel)).filter(({ text }) => text.startsWith('reply'));
  return { world, scene, bot, post, answers };
}
const revoked = { body: { ok: false, error: 'token_revoked' } };

it('Slack: names the bot token that was revoked, and answers once it is taken again', async () => {
  const { world, scene, bot, post, answers } = await onSlack('http');
  world.front.intercept = (method) => (method.startsWith('/') ? undefined : revoked);
  await post();
  await until(() => bot.platforms().slack?.state === 'refused');
  expect(bot.platforms().slack?.why).toContain('SLACK_BOT_TOKEN');
  await wait(200);
  expect(await scene.ledger.inState(['failed', 'undeliverable'])).toEqual([]);
  expect(scene.lines('refuses the bot')).toHaveLength(1);
  world.front.intercept = null;
  await scene.answered(1);
  expect(await answers()).toHaveLength(1);
  expect(bot.platforms().slack).toEqual({ state: 'up', why: null });
});

it('Slack: names the app-level token that was revoked, and hears again once it is taken', async () => {
  const { world, scene, bot, post, answers } = await onSlack('socket');
  world.front.intercept = (method) => (method === 'apps.connections.open' ? revoked : undefined);
  for (const open of world.front.socket.open) open.terminate();
  await until(() => bot.platforms().slack?.state === 'refused');
  expect(bot.platforms().slack?.why).toContain('SLACK_APP_TOKEN');
  expect(scene.lines('refuses the bot')).toHaveLength(1);
  world.front.intercept = null;
  await until(() => bot.platforms().slack?.state === 'up');
  await post();
  await scene.answered(1);
  expect(await answers()).toHaveLength(1);
});

/** Names that cannot be resolved for a while: each wait ends in a line for the operator, and what waited goes on by itself. */
import { expect, it } from 'vitest';
import { discordPlatform } from '../../src/platforms/discord/discord.ts';
import { createSlackPlatform } from '../../src/platforms/slack/slack.ts';
import { until } from '../bot/setup.ts';
import { startFake } from '../platforms/discord/fake.ts';
import { optionsFor } from '../platforms/discord/world.ts';
import { openWorld } from '../platforms/slack/world.ts';
import { pretendNames } from './names.ts';
import { clipOf, closeAfterEach, sceneOn } from './on-platform.ts';

const later = closeAfterEach();
function names() {
  const made = pretendNames();
  later(made.undo);
  return made;
}
const portOf = (url: string) => new URL(url).port;

it.each(['the interface', 'the files'])('Discord: waits for the name of %s', async (which) => {
  const resolver = names();
  const fake = await startFake();
  later(fake.close);
  fake.rename('files.invalid');
  const rest = { api: `http://api.invalid:${portOf(fake.origin)}/api`, cdn: fake.origin };
  const scene = await sceneOn(later, { watched: { discord: ['801'] } });
  const bot = await scene.start(discordPlatform(optionsFor(fake, { rest })));
  await until(async () => (await scene.ledger.cursor('watched-since/discord/801')) !== null);
  const name = which === 'the files' ? 'files.invalid' : 'api.invalid';
  resolver.away.add(name);
  fake.dropCalls(); // connections that stand need no name
  fake.say('801', fake.state.people.juno, { text: 'Squat 100 kg x5', files: [clipOf('fix')] });
  const before = resolver.asked.length;
  await until(() => resolver.asked.slice(before).filter((one) => one === name).length > 3);
  await until(() => scene.lines('ENOTFOUND').length > 0);
  expect(scene.lines(name).length).toBeGreaterThan(0);
  expect(await scene.ledger.inState(['received'])).toHaveLength(1);
  expect(scene.operator.length).toBeLessThan(10);
  resolver.away.clear();
  await scene.answered(1);
  await until(() => bot.platforms().discord?.state === 'up');
  const answers = [...fake.state.messages.values()].filter((m) => m.content.includes('reply fix'));
  expect(answers).toHaveLength(1);
});

it('Discord: is found at last when its name could not be resolved at the start', async () => {
  const resolver = names();
  resolver.away.add('api.invalid');
  const fake = await startFake();
  later(fake.close);
  const rest = { api: `http://api.invalid:${portOf(fake.origin)}/api`, cdn: fake.origin };
  const lines: string[] = [];
  const note = (fields: object, text: string) => void lines.push(`${text} ${JSON.stringify(fields)}`);
  const scene = await sceneOn(later, { watched: { discord: ['801'] } });
  const options = optionsFor(fake, { rest, log: { info() {}, warn: note, error: note } });
  const starting = scene.start(discordPlatform(options));
  await until(() => lines.some((line) => line.includes('login failed')));
  expect(lines[0]).toContain('ENOTFOUND api.invalid');
  resolver.away.clear();
  const bot = await starting;
  await until(() => bot.platforms().discord?.state === 'up');
});

it('Slack: waits for the name of the interface and of its files', async () => {
  const resolver = names();
  const world = await openWorld('http');
  later(world.close);
  const port = portOf(world.front.url);
  const file = { id: 'F1', mode: 'hosted', size: 3, url_private_download: `http://slack.invalid:${port}/clip` };
  let isFirst = true;
  world.front.intercept = (method) => {
    if (method === '/clip') return { headers: { 'content-type': 'video/mp4' }, body: 'fix' };
    if (method !== 'files.info') return undefined;
    if (isFirst) resolver.away.add('slack.invalid'); // from here on
    isFirst = false;
    return { headers: { connection: 'close' }, body: { ok: true, file } };
  };
  const { channel } = world;
  const scene = await sceneOn(later, { watched: { slack: [channel] } });
  const bot = await scene.start(createSlackPlatform({ ...world.options, apiUrl: `http://slack.invalid:${port}/api/` }));
  await until(async () => (await scene.ledger.cursor(`watched-since/slack/${channel}`)) !== null);
  await world.postMember({ text: 'Squat 100 kg x5', files: [clipOf('fix')] });
  await until(() => resolver.away.size > 0);
  await until(() => bot.platforms().slack?.state === 'unreachable');
  expect(await scene.ledger.inState(['received'])).toHaveLength(1);
  await until(() => scene.operator.length > 0);
  expect(scene.operator.length).toBeLessThan(10);
  expect(scene.operator.join()).toContain('ENOTFOUND slack.invalid');
  resolver.away.clear();
  await scene.answered(1);
  expect((await world.seen(channel)).filter(({ text }) => text.startsWith('reply'))).toHaveLength(1);
  await until(() => bot.platforms().slack?.state === 'up');
});

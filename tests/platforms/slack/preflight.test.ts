import { expect, it } from 'vitest';
import { useSlack } from './use-slack.ts';

const scene = useSlack();

it("preflight of Slack looks at each channel once, the moderators' too, and says how to let the bot in", async () => {
  await scene.open('http');
  const { world } = scene;
  world.options.moderatorChannel = world.otherChannel;
  const rows = async () => (await world.platform.preflight()).filter(({ what }) => what.includes('channel'));
  const names = [`Slack channel ${world.channel}`, `Slack coach channel ${world.coachChannel}`];
  const moderators = `Slack moderator channel ${world.otherChannel}`;
  expect((await rows()).map(({ what, ok }) => [what, ok])).toEqual([...names, moderators].map((what) => [what, true]));
  const away = { ok: true, channel: { id: world.otherChannel, name: 'lounge', is_member: false, is_archived: false } };
  world.front.intercept = (method, { channel }) =>
    method === 'conversations.info' && channel === world.otherChannel ? { body: away } : undefined;
  expect((await rows()).filter(({ ok }) => !ok)).toEqual([
    { what: moderators, ok: false, found: 'not a member of #lounge', fix: expect.stringContaining('/invite @quarterview') },
  ]);
  world.options.moderatorChannel = world.coachChannel;
  expect((await rows()).map(({ what }) => what)).toEqual(names);
});

/** How the bot starts with platforms that do not answer or refuse it. */
import { describe, expect, it } from 'vitest';
import { ended, scene } from './bot-scene.ts';
import { createWorld } from './fake-platform.ts';
import { until } from './setup.ts';

describe('start', () => {
  it('goes on with one platform while another cannot be reached, and takes it up as soon as it can', async () => {
    scene.settings.watched.slack = ['form-check'];
    const away = createWorld('slack');
    for (let i = 0; i < 3; i += 1)
      away.fail('start', 'before', 'unreachable', { final: false, retryAfterMs: i === 0 ? 300 : null });
    const bot = await scene.startBot(undefined, [away.adapter()]);
    expect(bot.platforms()).toEqual({ slack: { state: 'unreachable', why: 'unreachable' }, room: { state: 'up', why: null } });
    const here = await scene.world.say(['clean']);
    await ended(1);
    expect(scene.world.replies(here.ref)).toHaveLength(1);
    expect(scene.errors[0]).toMatch(
      /^a platform could not be started, it is tried again: .*"platform":"slack","code":"unreachable"/,
    );
    await until(() => bot.platforms().slack?.state === 'up');
    const there = await away.say(['fix']);
    await ended(2);
    expect(away.replies(there.ref)).toHaveLength(1);
    expect(scene.errors).toHaveLength(3);
  });

  it('does not hold up the others for a platform that never answers', async () => {
    const silent = { ...createWorld('discord').adapter(), start: () => new Promise<never>(() => {}) };
    void scene.startBot(undefined, [silent]);
    await until(async () => (await scene.ledger.cursor('watched-since/room/form-check')) !== null);
    const message = await scene.world.say(['clean']);
    await ended(1);
    expect(scene.world.replies(message.ref)).toHaveLength(1);
  });

  it('goes on without a platform that refuses it, and ends when there is no other', async () => {
    const shut = createWorld('discord');
    shut.fail('start', 'before', 'forbidden', { final: true, retryAfterMs: null });
    const bot = await scene.startBot(undefined, [shut.adapter()]);
    expect(bot.platforms()).toEqual({ discord: { state: 'refused', why: 'forbidden' }, room: { state: 'up', why: null } });
    await bot.stop(0);
    scene.world.fail('start', 'before', 'forbidden', { final: true, retryAfterMs: null });
    await expect(scene.startBot()).rejects.toThrow('forbidden');
  });
});

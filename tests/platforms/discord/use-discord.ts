import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach } from 'vitest';
import { discordPlatform } from '../../../src/platforms/discord/discord.ts';
import type { DiscordOptions } from '../../../src/platforms/discord/options.ts';
import type { Command, OutgoingMessage, Platform } from '../../../src/platforms/port.ts';
import { recordEvents, tinyMp4 } from '../platform-world.ts';
import { type Fake, startFake } from './fake.ts';
import { optionsFor } from './world.ts';

/** A signal that never comes. */
export const never = new AbortController().signal;
/** A member's clip. */
export const clip = (name = 'squat.mp4') => ({ name, contentType: 'video/mp4', body: tinyMp4 });
/** A button as the bot makes it. */
export const button = { id: 'take:1', label: 'Take', style: 'plain' as const };

/** A fake Discord and an empty folder for each test of a file, and adapters that are stopped at its end. */
export function useDiscord() {
  const scene = {
    adapters: [] as Platform[],
    fake: null as unknown as Fake,
    folder: '',
    /** What the adapters logged. */
    logged: [] as string[],
    adapter(more: Partial<DiscordOptions> = {}) {
      const note = (fields: object, message: string) => void scene.logged.push(`${message} ${JSON.stringify(fields)}`);
      const made = discordPlatform(optionsFor(scene.fake, { log: { info: note, warn: note, error: note }, ...more }));
      scene.adapters.push(made);
      return made;
    },
    async started(commands: Command[] = [], more: Partial<DiscordOptions> = {}) {
      const platform = scene.adapter(more);
      const got = recordEvents();
      await platform.start(got.events, commands, never);
      return { platform, got };
    },
    post: (platform: Platform, message: OutgoingMessage, key: string, channel = '801') =>
      platform.post({ channel, message: null }, message, key, never),
    juno: () => scene.fake.state.people.juno,
  };
  beforeEach(async () => {
    scene.fake = await startFake();
    scene.folder = await mkdtemp(join(tmpdir(), 'qv-discord-'));
  });
  afterEach(async () => {
    await Promise.all(scene.adapters.splice(0).map((made) => made.stop()));
    await rm(scene.folder, { recursive: true, force: true });
    scene.logged.length = 0;
    await scene.fake.close();
  });
  return scene;
}

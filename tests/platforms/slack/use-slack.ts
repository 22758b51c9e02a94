import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach } from 'vitest';
import { recordEvents, tinyMp4 } from '../platform-world.ts';
import { openWorld, type SlackWorld } from './world.ts';

/** A signal that never comes. */
export const never = new AbortController().signal;
/** A member's clip. */
export const clip = (name = 'squat.mp4') => ({ name, contentType: 'video/mp4', body: tinyMp4 });
/** An answer of Slack's that says no. */
export const fail = (error: string, more: Record<string, unknown> = {}) => ({ body: { ok: false, error, ...more } });

/** What can be typed. */
export const commands = [
  {
    name: 'film',
    description: 'How to film a lift',
    fields: [
      { id: 'lift', label: 'Which lift', required: true, options: [{ value: 'bench', label: 'Bench press' }] },
      { id: 'note', label: 'Anything else', required: false, options: null },
    ],
  },
];

/** A world of Slack that a test opens, and an empty folder, for each test of a file. */
export function useSlack() {
  const scene = {
    world: null as unknown as SlackWorld,
    got: null as unknown as ReturnType<typeof recordEvents>,
    folder: '',
    async open(...how: Parameters<typeof openWorld>): Promise<void> {
      scene.world = await openWorld(...how);
      scene.got = recordEvents();
      await scene.world.platform.start(scene.got.events, commands, never);
    },
    /** Path of a new file in the folder. */
    async fileOf(name: string, body: Buffer): Promise<string> {
      await writeFile(join(scene.folder, name), body);
      return join(scene.folder, name);
    },
  };
  beforeEach(async () => {
    scene.folder = await mkdtemp(join(tmpdir(), 'qv-slack-'));
  });
  afterEach(async () => {
    await rm(scene.folder, { recursive: true, force: true });
    await scene.world.close();
  });
  return scene;
}

import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach } from 'vitest';
import { type Command, type Form, PlatformError } from '../../src/platforms/port.ts';
import { recordEvents, tinyMp4, type World } from './platform-world.ts';

/** A member's clip. */
export const clip = (name = 'squat.mp4') => ({ name, contentType: 'video/mp4', body: tinyMp4 });

export const commands: Command[] = [
  {
    name: 'film',
    description: 'How to film a lift',
    fields: [
      {
        id: 'lift',
        label: 'Which lift',
        required: true,
        options: [
          { value: 'squat', label: 'Squat' },
          { value: 'bench', label: 'Bench press' },
        ],
      },
      { id: 'note', label: 'Anything else', required: false, options: null },
    ],
  },
];

/** A field of a form. */
export const whyField: Form['fields'][number] = {
  id: 'why',
  label: 'Why',
  required: true,
  hint: '',
  kind: 'text',
  lines: 'one',
  maxLength: 50,
};

/** A signal that never comes. */
export const never = new AbortController().signal;

/** A fresh world with a started adapter for each case of the suite that calls it, and a folder; closed after the case. */
export function useWorld(create: () => Promise<World>) {
  const on = {
    world: null as unknown as World,
    got: null as unknown as ReturnType<typeof recordEvents>,
    folder: '',
    fileOf: async (file: string, body: Buffer) => {
      await writeFile(join(on.folder, file), body);
      return join(on.folder, file);
    },
  };
  beforeEach(async () => {
    on.folder = await mkdtemp(join(tmpdir(), 'qv-contract-'));
    on.world = await create();
    on.got = recordEvents();
    await on.world.platform.start(on.got.events, commands, never);
  });
  afterEach(async () => {
    await rm(on.folder, { recursive: true, force: true });
    await on.world.close();
  });
  return on;
}

/** What `useWorld` gives, read within a case. */
export type OnWorld = ReturnType<typeof useWorld>;

/** The refusal that this work must end with. */
export const refusal = (work: Promise<unknown>) =>
  work.then(
    () => Promise.reject(new Error('should have been refused')),
    (error: unknown) => {
      if (!(error instanceof PlatformError)) throw error;
      return error;
    },
  );

import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { newTemporaryFolder } from '../../src/queue/temporary-folder.ts';
import { createScene, until } from '../bot/setup.ts';

const after: (() => unknown)[] = [];
afterEach(async () => {
  for (const undo of after.splice(0).reverse()) await undo();
});

describe('what a killed bot leaves in the spool folder', () => {
  it('is gone after the next start: parts of fetched clips, and all of clips that the ledger does not know', async () => {
    const scene = await createScene();
    after.push(scene.close);
    const bot = await scene.startBot();
    const message = await scene.world.say(['wait']);
    await until(() => scene.measuring.measured.length === 1);
    await bot.stop(0);
    const id = 'room-form-check-m-1-m-1-f0';
    expect(readdirSync(scene.folder)).toEqual([`${id}.clip`]);
    const gone = 'room-form-check-m-0-m-0-f0';
    const left = [`${id}.clip.part`, `${id}.clip.part.part`, `${gone}.clip.part.part`, `${gone}.clip`, `${gone}.cut.mp4`];
    for (const name of left) writeFileSync(join(scene.folder, name), 'half a clip');
    writeFileSync(join(scene.folder, 'notes.txt'), 'not ours');
    const next = scene.startBot();
    await until(() => readdirSync(scene.folder).length === 2);
    expect(readdirSync(scene.folder).sort()).toEqual(['notes.txt', `${id}.clip`]);
    await next;
    scene.measuring.release();
    await until(async () => (await scene.ledger.inState(['answered'])).length === 1);
    expect(scene.world.replies(message.ref)).toHaveLength(1);
  });
});

describe('temporary folders', () => {
  const made = fileURLToPath(new URL('../../src/queue/temporary-folder.ts', import.meta.url));
  /** A process of its own that makes such a folder with half a clip in it, and lives until it is killed. */
  async function holder(root: string): Promise<ChildProcess> {
    const code = `
      import { writeFileSync } from 'node:fs';
      import { newTemporaryFolder } from ${JSON.stringify(made)};
      writeFileSync(newTemporaryFolder('clips', ${JSON.stringify(root)}) + '/half.clip', 'half a clip');
      process.send('made');
      setInterval(() => {}, 1000);`;
    const child = spawn(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', code], {
      cwd: fileURLToPath(new URL('../../', import.meta.url)),
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    after.push(() => child.kill('SIGKILL'));
    await once(child, 'message');
    return child;
  }

  it('of a killed process are removed by the next one, those of one that lives stay', async () => {
    const root = mkdtempSync(join(tmpdir(), 'quarterview-test-leftovers-'));
    after.push(() => rmSync(root, { recursive: true, force: true }));
    const [killed, living] = [await holder(root), await holder(root)];
    killed.kill('SIGKILL');
    await once(killed, 'exit');
    expect(readdirSync(root)).toHaveLength(2);
    const own = [newTemporaryFolder('clips', root), newTemporaryFolder('clips', root), newTemporaryFolder('worker', root)];
    const names = readdirSync(root);
    expect(names).toHaveLength(4);
    expect(names.filter((name) => name.includes(`-${killed.pid}-`))).toEqual([]);
    expect(names.filter((name) => name.includes(`-${living.pid}-`))).toHaveLength(1);
    expect(names.filter((name) => name.includes(`-${process.pid}-`))).toHaveLength(own.length);
  });
});

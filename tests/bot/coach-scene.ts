/** What coaches do on a scene. Importing this opens a scene before each test of the file and closes it after. */
import { afterEach, beforeEach } from 'vitest';
import type { ActionReply } from '../../src/platforms/port.ts';
import { createScene, until } from './setup.ts';

/** The scene of the test that runs. */
export let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
});
afterEach(() => scene.close());

export const hourMs = 3_600_000;
export const coaches = ['coach'];
export const textOf = (reply: ActionReply) => (reply.kind === 'private' ? reply.message.text : reply.kind);
export const labelsOf = (reply: ActionReply) => (reply.kind === 'private' ? reply.message.buttons.map(({ label }) => label) : []);

/** Posts a clip and waits for its answer; the id of its submission. */
export async function post(what: string, by = 'juno', more: object = {}) {
  const before = (await scene.ledger.inState(['answered'])).length;
  const message = await scene.world.say([what], { by, ...more });
  await until(async () => (await scene.ledger.inState(['answered'])).length === before + 1);
  const lane = `room/form-check/${message.ref.thread ?? message.ref.message}`;
  const id = (await scene.ledger.inLane(lane)).at(-1)!.id;
  return { message, id };
}
export const press = (id: string, by = 'ilse', groups = coaches) => scene.world.act({ kind: 'button', id }, by, groups);
export const send = (id: string, values: Record<string, string>, by = 'ilse') =>
  scene.world.act({ kind: 'form', id, values }, by, coaches);
export const command = (by = 'ilse', groups = coaches) => scene.world.act({ kind: 'command', id: 'waiting' }, by, groups);
export const card = (id: string) => scene.world.posts.find(({ key }) => key === `coach/${id}`)!;
export const shows = (id: string, text: string) => until(() => card(id).now.text.includes(text));
export const stateOf = async (id: string) => (await scene.ledger.desk.entry(id))?.state;

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createRoom, type Room } from '../../../src/platforms/room/room.ts';
import { plainMessage, recordEvents } from '../platform-world.ts';
import { enter, nonce, type Seen } from './page-client.ts';

const never = new AbortController().signal;
let folder: string;
let room: Room;
let got: ReturnType<typeof recordEvents>;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'qv-replay-'));
  room = createRoom({ dataFolder: folder, port: 0, maxUploadBytes: 5000 });
  got = recordEvents();
  await room.start(got.events, [], never);
});
afterEach(async () => {
  await room.stop();
  rmSync(folder, { recursive: true, force: true });
});
const url = () => room.address() ?? '';

it('a post that is sent again is one post, and nobody can send it as another', async () => {
  const [juno, odo] = [await enter(url(), 'juno'), await enter(url(), 'odo')];
  const post = { channel: 'clips', thread: null, text: 'my squat', files: [], nonce: nonce() };
  const first = await juno.ask<Seen>('POST', '/messages', post);
  const again = await juno.ask<Seen>('POST', '/messages', { ...post, text: 'changed on the way' });
  expect(again.body.id).toBe(first.body.id);
  expect((await juno.messages('clips')).map(({ text }) => text)).toEqual(['my squat']);
  const forged = await odo.ask<Seen>('POST', '/messages', { ...post, author: { id: 'juno', name: 'Juno' } });
  expect(forged.status).toBe(400);
  const own = await odo.ask<Seen>('POST', '/messages', post);
  expect(own.status).toBe(200);
  expect((await juno.messages('clips')).map(({ author }) => author.id)).toEqual(['juno', 'odo']);
});

it('a press that is sent again has the same id, so that the bot does it once, and one of another person has another', async () => {
  const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
  const card = await room.post({ channel: 'coaches', message: null }, plainMessage('card', { buttons: [button] }), 'k', never);
  const [ilse, brannock] = [await enter(url(), 'ilse'), await enter(url(), 'brannock')];
  const press = { kind: 'button', id: 'take:1', message: card.message, nonce: nonce(), values: {} };
  for (const who of [ilse, ilse, brannock]) expect((await who.ask('POST', '/actions', press)).status).toBe(200);
  const [first, again, other] = got.actions.map(({ pressId }) => pressId);
  expect(again).toBe(first);
  expect(other).not.toBe(first);
  expect(got.actions.map(({ person }) => person.id)).toEqual(['ilse', 'ilse', 'brannock']);
});

it('what is gone cannot be pressed any more', async () => {
  const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
  const card = await room.post({ channel: 'coaches', message: null }, plainMessage('card', { buttons: [button] }), 'k', never);
  const ilse = await enter(url(), 'ilse');
  await room.edit(card, plainMessage('taken'), never);
  const press = { kind: 'button', id: 'take:1', message: card.message, nonce: nonce(), values: {} };
  expect((await ilse.ask('POST', '/actions', press)).status).toBe(409);
  await room.remove(card, never);
  expect((await ilse.ask('POST', '/actions', { ...press, nonce: nonce() })).status).toBe(409);
  expect(got.actions).toEqual([]);
});

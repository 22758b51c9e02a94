import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { submissionIdOf } from '../../src/bot/ids.ts';
import type { ActionReply, IncomingMessage } from '../../src/platforms/port.ts';
import { onDisk } from '../ledger/on-disk.ts';
import { createScene, until } from './setup.ts';

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-forget-'));
afterAll(() => rmSync(folder, { recursive: true }));
let scene: Awaited<ReturnType<typeof createScene>>;
afterEach(() => scene.close());

let files = 0;
async function open() {
  const file = join(folder, `${++files}.sqlite`);
  scene = await createScene({}, { place: { file } });
  return file;
}

const idOf = (message: IncomingMessage) => submissionIdOf(message.ref, message.files[0]!);
const answered = (n: number) => until(async () => (await scene.ledger.inState(['answered'])).length === n);
function messageOf(reply: ActionReply) {
  if (reply.kind !== 'private') throw new Error(`no private answer but ${reply.kind}`);
  return reply.message;
}
const confirm = async (by: string) => messageOf(await scene.world.act({ kind: 'button', id: 'forget-me:yes' }, by)).text;
const spooled = (message: IncomingMessage) => readdirSync(scene.folder).filter((name) => name.startsWith(idOf(message)));
const standing = (ref: IncomingMessage['ref']) => scene.world.replies(ref).length;

const name = 'tamsin-of-the-test';
const caption = 'squat 100 kg, zebra on the kestrel';
const reason = 'wombat says it was fine';
const coach = { byId: 'ilse', byName: 'Ilse-of-the-test' };

describe('forget me', () => {
  it('asks first, then deletes everything, to the bytes on the disk, and nothing of others', async () => {
    const file = await open();
    const { world, ledger, clock } = scene;
    await scene.startBot();
    const first = await world.say(['fix'], { text: caption, by: name });
    await answered(1);
    const second = await world.say(['trim'], { text: caption, by: name, reply: first.ref });
    const other = await world.say(['clean'], { text: 'another caption', by: 'odo' });
    await answered(3);
    await world.act({ kind: 'form', id: `appeal:${idOf(first)}`, values: { reason } }, name);
    await until(() => world.inChannel('coaches').length === 3);
    await answered(3);
    const wish = { platform: 'room', lift: 'squat', view: 'front', clipsLeft: null, untilMs: null, ...coach };
    await ledger.requests.add({ ...wish, id: 'w-1', memberId: name, note: 'gnu of the coach' }, clock.nowMs);
    await ledger.requests.add({ ...wish, id: 'w-2', memberId: 'odo', note: 'kept wish' }, clock.nowMs);
    await ledger.members.set('room', name, { statureCm: 171 });
    const who = { platform: 'room', personId: 'ilse', personName: coach.byName, act: 'take', allowed: true };
    await ledger.audit.note({ ...who, atMs: clock.nowMs, subject: idOf(first) });
    const report = { do: 'post', platform: 'room', to: { channel: 'coaches', message: null } };
    const message = { text: `${name} and odo need a hand`, files: [], buttons: [], choices: [], mention: null };
    const act = { key: 'digest/1', lane: 'digest', submission: null, essential: false };
    await ledger.plan([{ ...act, payload: { ...report, message } }], clock.nowMs);
    await until(async () => (await ledger.act('digest/1'))?.state === 'done');
    const isOf = (post: (typeof world.posts)[number], id: string) => post.key.endsWith(id);
    const own = world.posts.filter((post) => isOf(post, idOf(first)) || isOf(post, idOf(second)));
    expect(own.map(({ key }) => key.split('/')[0]).sort()).toEqual(['coach', 'coach', 'reply', 'reply']);
    const [mine, his] = [idOf(first), idOf(other)];
    const words = [name, caption, reason, 'gnu of the coach', mine, idOf(second), first.files[0]!.id, second.files[0]!.id];
    expect(onDisk(file, words)).toEqual(words);
    expect(spooled(first).length).toBeGreaterThan(0);

    const { text, buttons } = messageOf(await world.act({ kind: 'command', id: 'forget-me' }, name));
    expect(text).toContain('2 clips');
    expect(buttons).toEqual([{ id: 'forget-me:yes', label: 'Delete it all', style: 'danger' }]);
    expect(await ledger.submission(mine)).not.toBe(null);
    expect(await confirm(name)).toContain('your 2 clips is deleted');
    await until(() => standing(first.ref) + standing(second.ref) === 0);
    await until(() => world.marks.get(first.ref.message)?.length === 0 && world.marks.get(second.ref.message)?.length === 0);
    await until(async () => (await ledger.dueActs(clock.nowMs, 10)).length === 0);
    expect(world.inChannel('coaches').map(({ message: { text: said } }) => said)).toEqual([
      expect.stringContaining('odo from'),
      `${name} and odo need a hand`,
    ]);
    const refs = own.map(({ ref }) => `"message":"${ref.message}"`);
    expect(onDisk(file, [...words, ...refs])).toEqual([]);
    expect(onDisk(file, ['another caption', 'kept wish', 'a member and odo need a hand'])).toHaveLength(3);
    expect([...spooled(first), ...spooled(second)]).toEqual([]);
    expect(await ledger.submission(his)).toMatchObject({ caption: 'another caption' });
    expect(world.marks.get(other.ref.message)).toEqual(['clean']);
    expect(await ledger.audit.last(5)).toEqual([
      { atMs: clock.nowMs, platform: 'room', personId: '', personName: '', act: 'forget-me', subject: '', allowed: true },
    ]);
    expect(await confirm(name)).toBe('I keep nothing of you.');
    expect(scene.errors).toEqual([]);
  });

  it('takes a forgotten clip in no more when an edit or a gap tells it again, and a new one anew', async () => {
    await open();
    const { world, ledger } = scene;
    await scene.startBot();
    const old = await world.say(['clean'], { by: name });
    await answered(1);
    await confirm(name);
    await until(() => standing(old.ref) === 0);
    await world.tell({ ...old, text: 'edited' });
    await world.gap();
    const fresh = await world.say(['clean'], { by: name });
    await answered(1);
    await wait(50);
    expect(await ledger.submission(idOf(old))).toBe(null);
    expect(standing(old.ref)).toBe(0);
    expect(world.replies(fresh.ref)[0]!.message.text).toBe('reply clean first');
  });

  it('forgets a clip that is being measured: its result is dropped', async () => {
    const file = await open();
    const { world, ledger, measuring } = scene;
    const bot = await scene.startBot();
    const message = await world.say(['wait'], { by: name, text: caption });
    await until(async () => (await ledger.submission(idOf(message)))?.state === 'measuring');
    expect(await confirm(name)).toContain('your one clip is deleted');
    measuring.release();
    await until(() => world.marks.get(message.ref.message)?.length === 0);
    await wait(50);
    expect(standing(message.ref)).toBe(0);
    expect(await ledger.jobs.all()).toEqual([]);
    expect(spooled(message)).toEqual([]);
    await bot.stop(0);
    expect(onDisk(file, [name, caption, message.files[0]!.id])).toEqual([]);
    expect(scene.errors).toEqual([]);
  });

  it('forgets a clip that is being fetched, and removes what was written late', async () => {
    await open();
    const { world, ledger } = scene;
    let go = () => {};
    const held = new Promise<void>((resolve) => {
      go = resolve;
    });
    let asked = false;
    let wasWritten = false;
    await scene.startBot({
      ledger: (one) => one,
      platform: (one) => ({
        ...one,
        async fetchFile(...given) {
          asked = true;
          await held;
          await one.fetchFile(...given);
          wasWritten = true;
        },
      }),
    });
    const message = await world.say(['clean'], { by: name });
    await until(() => asked);
    await confirm(name);
    go();
    await until(() => wasWritten && spooled(message).length === 0);
    await wait(50);
    expect(spooled(message)).toEqual([]);
    expect(await ledger.submission(idOf(message))).toBe(null);
    expect(standing(message.ref)).toBe(0);
  });

  it('removes an answer that is being posted while its clip is forgotten', async () => {
    await open();
    const { world } = scene;
    let go = () => {};
    const held = new Promise<void>((resolve) => {
      go = resolve;
    });
    let asked = false;
    await scene.startBot({
      ledger: (one) => one,
      platform: (one) => ({
        ...one,
        async post(...given) {
          asked = true;
          await held;
          return one.post(...given);
        },
      }),
    });
    const message = await world.say(['fix'], { by: name });
    await until(() => asked);
    await confirm(name);
    go();
    await until(() => world.posts.length === 1 && world.posts[0]!.removed);
    expect(standing(message.ref)).toBe(0);
  });

  it('goes on after a crash, and tries again what a platform does not remove at once', async () => {
    await open();
    const { world, ledger, clock } = scene;
    const bot = await scene.startBot();
    const message = await world.say(['fix'], { by: name });
    await answered(1);
    world.fail('remove', 'before', 'unreachable');
    world.fail('setMarks', 'before', 'unreachable');
    await confirm(name);
    await bot.stop(0);
    clock.nowMs += 1000;
    await scene.startBot();
    await until(() => standing(message.ref) === 0 && world.marks.get(message.ref.message)?.length === 0);
    await until(async () => (await ledger.dueActs(clock.nowMs, 10)).length === 0);
    expect(await ledger.members.get('room', name)).toEqual({ statureCm: null, cautionedMs: null });
  });

  it('is for the person who asks alone', async () => {
    await open();
    const { world, ledger } = scene;
    await scene.startBot();
    const message = await world.say(['clean'], { by: name });
    await answered(1);
    expect(await confirm('odo')).toBe('I keep nothing of you.');
    expect(await ledger.submission(idOf(message))).not.toBe(null);
    expect(messageOf(await world.act({ kind: 'command', id: 'forget-me' }, 'odo')).text).toContain('no clip');
  });

  it('is marked for as long as clips are kept at most', async () => {
    await open();
    const { ledger } = scene;
    const ref = { platform: 'room', channel: 'form-check', message: 'm', thread: null } as const;
    const file = { id: 'f', name: 'a.mp4', contentType: null, bytes: 1 };
    const clip = {
      id: 'a',
      ref,
      lane: 'l',
      file,
      takeOf: null,
      root: 'a',
      authorId: 'odo',
      authorName: 'Odo',
      caption: '',
      sentMs: 1,
    };
    expect(await ledger.receive(clip, [], 1)).toBe(true);
    const who = { platform: 'room', memberId: 'odo', instead: 'a member' };
    expect((await ledger.members.forget(who, 10, () => [])).submissions.map(({ id }) => id)).toEqual(['a']);
    expect(await ledger.receive(clip, [], 11)).toBe(false);
    await ledger.forget(9, 10);
    expect(await ledger.receive(clip, [], 11)).toBe(false);
    await ledger.forget(10, 10);
    expect(await ledger.receive(clip, [], 11)).toBe(true);
  });
});

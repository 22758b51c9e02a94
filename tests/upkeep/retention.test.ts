import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { submissionIdOf } from '../../src/bot/ids.ts';
import { type LedgerPlace, openLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';
import { createScene, until } from '../bot/setup.ts';
import { onDisk } from '../ledger/on-disk.ts';
import { startPostgres } from '../ledger/real-postgres.ts';
import { exampleFacts } from '../queue/fixtures/facts.ts';

const dayMs = 24 * 3_600_000;
const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-retention-'));
let postgres: Awaited<ReturnType<typeof startPostgres>>;
beforeAll(async () => {
  postgres = await startPostgres();
});
afterAll(async () => {
  await postgres.stop();
  rmSync(folder, { recursive: true });
});
let scene: Awaited<ReturnType<typeof createScene>> | null = null;
afterEach(async () => {
  await scene?.close();
  scene = null;
});
let files = 0;
const engines: Record<string, () => Promise<LedgerPlace>> = {
  SQLite: async () => ({ file: join(folder, `${++files}.sqlite`) }),
  PostgreSQL: async () => ({ databaseUrl: await postgres.url() }),
};

describe('clips answered long ago', () => {
  const name = 'Tamsin-of-the-test';
  const caption = 'squat 100 kg, zebra on the kestrel';
  const reason = 'wombat says it was fine';

  it('are deleted with all that was kept of them, to the bytes on the disk, not before their time', async () => {
    const file = join(folder, 'bot.sqlite');
    scene = await createScene({ factsDays: 30 }, { place: { file } });
    const { world, ledger, clock } = scene;
    const bot = await scene.startBot();
    const old = await world.say(['trim'], { text: caption, by: name });
    const ids = [submissionIdOf(old.ref, old.files[0]!)];
    await until(async () => (await ledger.inState(['answered'])).length === 1);
    const { ref } = world.replies(old.ref)[0]!;
    const coach = { byId: 'ilse', byName: 'Ilse-of-the-test' };
    await ledger.evidence.add({ id: 'e', submission: ids[0]!, kind: 'appeal', rule: 'view', reason, ...coach }, clock.nowMs);
    await ledger.members.set('room', name, { statureCm: 171 });
    const who = { platform: 'room', personId: 'ilse', personName: coach.byName };
    await ledger.audit.note({ ...who, atMs: clock.nowMs, act: 'appeal', subject: ids[0]!, allowed: true });
    await bot.stop(0);
    const words = [name, caption, reason, coach.byName, ids[0]!, old.files[0]!.id, ref.message];
    expect(onDisk(file, words)).toEqual(words);

    clock.nowMs += 30 * dayMs - 1;
    const later = await scene.startBot();
    const young = await world.say(['clean'], { text: 'kept caption', sentAtMs: clock.nowMs });
    await until(async () => (await ledger.inState(['answered'])).length === 2);
    await later.stop(0);
    expect((await ledger.submission(ids[0]!))?.caption).toBe(caption);

    clock.nowMs += 1;
    await scene.startBot();
    await until(async () => (await ledger.inState(['answered'])).length === 1);
    await until(() => onDisk(file, words).length === 0);
    expect(await ledger.submission(ids[0]!)).toBe(null);
    expect(await ledger.members.get('room', name)).toEqual({ statureCm: null, cautionedMs: null });
    expect(onDisk(file, ['kept caption'])).toEqual(['kept caption']);
    expect(readdirSync(scene.folder).filter((one) => one.startsWith(ids[0]!))).toEqual([]);

    // An edit long after does not make the clip a new one.
    const posts = world.posts.length;
    await world.tell({ ...old, text: 'edited' });
    await world.tell({ ...young, text: 'edited' });
    await wait(50);
    expect(world.posts).toHaveLength(posts);
    expect(await ledger.submission(ids[0]!)).toBe(null);
  });

  it('stay for ever where the setting is null', async () => {
    scene = await createScene({ factsDays: null });
    await scene.startBot();
    await scene.world.say(['clean']);
    await until(async () => (await scene!.ledger.inState(['answered'])).length === 1);
    scene.clock.nowMs += 10_000 * dayMs;
    await scene.startBot();
    await until(() => readdirSync(scene!.folder).length === 0);
    await wait(50);
    expect(await scene.ledger.inState(['answered'])).toHaveLength(1);
  });
});

describe.each(Object.keys(engines))('on %s', (engine) => {
  let ledger: Ledger;
  afterEach(() => ledger.close());

  /** A clip of this member that is answered at `atMs`, or still waits for its answer. */
  async function keep(id: string, atMs: number | null, change: { authorId?: string; caption?: string } = {}): Promise<void> {
    const ref = { platform: 'room', channel: 'form-check', message: `message-${id}`, thread: null } as const;
    const file = { id: `file-${id}`, name: 'squat.mp4', contentType: 'video/mp4', bytes: 1 };
    const who = { authorId: 'juno', authorName: `name-${id}`, caption: `caption-${id}`, ...change };
    const lane = `room/form-check/${id}`;
    await ledger.receive({ id, ref, lane, file, takeOf: null, root: id, ...who, sentMs: 1 }, [], 1);
    const payload = { say: `payload-${id}` };
    const acts = [{ key: `reply/${id}`, lane, submission: id, payload, essential: true }];
    await ledger.move(id, ['received'], 'answering', 2, { facts: exampleFacts(10), judgement: { note: `note-${id}` } }, acts);
    await ledger.desk.put(id, 'room', 2);
    if (atMs !== null) await ledger.endAct(`reply/${id}`, { ref }, atMs);
  }

  it('forgets what ended by then, the oldest first, and nothing else', async () => {
    ledger = await openLedger(await engines[engine]!());
    await keep('a', 10);
    await keep('b', 20);
    await keep('c', 30, { authorId: 'odo' });
    await keep('d', null);
    await ledger.members.set('room', 'juno', { statureCm: 171 });
    await ledger.members.set('room', 'odo', { statureCm: 180 });
    await ledger.members.set('room', 'pell', { statureCm: 190 });
    const wish = { platform: 'room', lift: 'squat', view: 'front', note: '', clipsLeft: null, byId: 'ilse', byName: 'Ilse' };
    await ledger.requests.add({ ...wish, id: 'open', memberId: 'pell', untilMs: null }, 5);
    await ledger.requests.add({ ...wish, id: 'over', memberId: 'juno', untilMs: 15 }, 5);
    const act = (key: string) => ({ key, lane: key, submission: null, payload: {}, essential: false });
    await ledger.plan([act('link/1'), act('link/2')], 5);
    await ledger.endAct('link/1', { ref: null }, 10);
    const note = { platform: 'room', personId: 'ilse', personName: 'Ilse', act: 'take', subject: 'x', allowed: true };
    for (const atMs of [10, 40]) await ledger.audit.note({ ...note, atMs });

    expect(await ledger.forget(9, 10)).toEqual([]);
    expect(await ledger.forget(20, 1)).toEqual(['a']);
    expect(await ledger.forget(20, 10)).toEqual(['b']);
    expect(await ledger.forget(30, 10)).toEqual(['c']);
    expect(await ledger.forget(99, 10)).toEqual([]);
    expect(await Promise.all(['a', 'b', 'c'].map((id) => ledger.submission(id)))).toEqual([null, null, null]);
    expect(await ledger.submission('d')).toMatchObject({ caption: 'caption-d', state: 'answering' });
    expect(await ledger.act('reply/a')).toBe(null);
    expect(await ledger.desk.entry('a')).toBe(null);
    expect(await ledger.desk.entry('d')).not.toBe(null);
    expect((await ledger.dueActs(99, 10)).map(({ key }) => key).sort()).toEqual(['link/2', 'reply/d']);
    expect(await ledger.act('link/1')).toBe(null);
    expect(await ledger.requests.find('over')).toBe(null);
    expect(await ledger.requests.find('open')).not.toBe(null);
    const statures = await Promise.all(['juno', 'odo', 'pell'].map((id) => ledger.members.get('room', id)));
    expect(statures.map(({ statureCm }) => statureCm)).toEqual([171, null, 190]);
    expect(await ledger.audit.last(9)).toEqual([]);
  });

  it('keeps a clip that still lies on the disk, so that it is deleted first', async () => {
    ledger = await openLedger(await engines[engine]!());
    await keep('a', 10);
    await ledger.move('a', ['answered'], 'answered', 11, { clipPath: '/spool/a.clip' });
    expect(await ledger.forget(99, 10)).toEqual([]);
    await ledger.forgetFiles('a', 100);
    expect(await ledger.forget(99, 10)).toEqual(['a']);
  });

  it.runIf(engine === 'SQLite')('leaves no trace of any of many in the file', async () => {
    const place = (await engines[engine]!()) as { file: string };
    ledger = await openLedger(place);
    const count = 400;
    const words = (i: number) => [`word-${i}-end`, `name-${i}-end`, `note-${i}-end`, `payload-${i}-end`];
    for (let i = 0; i < count; i += 1) {
      // Lengths spread over what fits a page of the file and what needs several; every third one stays.
      const caption = `word-${i}-end ${'x'.repeat((i * 7919) % 9000)} word-${i}-end`;
      await keep(`${i}-end`, i % 3 === 0 ? null : 10, { caption });
    }
    const all = Array.from({ length: count }, (_, i) => i);
    const gone = all.filter((i) => i % 3 !== 0).flatMap(words);
    expect(onDisk(place.file, gone)).toEqual(gone);
    for (let more = true; more; ) more = (await ledger.forget(99, 50)).length === 50;
    expect(onDisk(place.file, gone)).toEqual([]);
    for (const i of all.filter((one) => one % 3 === 0))
      expect((await ledger.submission(`${i}-end`))?.caption).toContain(`word-${i}-end`);
  });
});

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { appendFileSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { personOf } from '../../../src/platforms/room/people.ts';
import { createRoom } from '../../../src/platforms/room/room.ts';
import { RoomStore, type StoredMessage } from '../../../src/platforms/room/store.ts';
import { cleanName, cleanText } from '../../../src/platforms/room/text.ts';
import { plainMessage, recordEvents, tinyMp4 } from '../platform-world.ts';
import { journal } from './page-client.ts';

const juno = personOf('juno', 'Juno', 'member');
const message = (text: string, key: string | null = null) =>
  ({ channel: 'clips', thread: null, author: juno, text, files: [], key, sentAtMs: 1 }) as const;

describe('the room keeps its messages', () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'qv-store-'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));
  const add = (store: RoomStore, text: string, key: string | null = null) =>
    store.add({ ...message(text, key), files: [] }).message;
  const texts = (store: RoomStore) => store.messages().map((m) => m.text);

  it('finds all of it after a restart, the last change of each', () => {
    const store = new RoomStore(folder);
    const one = add(store, 'one', 'k');
    add(store, 'two');
    store.change(one.id, { marks: ['seen'] });
    store.addPerson(personOf('guest-9', 'Remy', 'member'), null);
    store.close();
    const again = new RoomStore(folder);
    expect(again.messages().map((m) => [m.text, m.marks])).toEqual([
      ['one', ['seen']],
      ['two', []],
    ]);
    expect(again.byKey('k')?.id).toBe(one.id);
    expect(again.people().map((p) => p.name)).toEqual(['Remy']);
    expect(Number(add(again, 'three').id)).toBeGreaterThan(4);
    again.close();
  });

  it('cuts off a torn last line and goes on', async () => {
    const store = new RoomStore(folder);
    add(store, 'whole');
    store.close();
    appendFileSync(join(folder, 'room.jsonl'), '{"seq":2,"message":{"id":"2","te');
    const again = new RoomStore(folder);
    add(again, 'after');
    again.close();
    const third = new RoomStore(folder);
    expect(texts(third)).toEqual(['whole', 'after']);
    expect(third.damaged).toBe(0);
    third.close();
    for (const line of await journal(folder)) expect(() => JSON.parse(line)).not.toThrow();
  });

  it('counts lines that it cannot read and keeps the rest', () => {
    const store = new RoomStore(folder);
    add(store, 'one');
    store.close();
    appendFileSync(join(folder, 'room.jsonl'), 'not json\n');
    const again = new RoomStore(folder);
    add(again, 'two');
    expect([texts(again), again.damaged]).toEqual([['one', 'two'], 1]);
    again.close();
  });

  it('sees what a second store on the folder does, through a rewrite too', () => {
    const a = new RoomStore(folder);
    const b = new RoomStore(folder);
    const heard: StoredMessage[] = [];
    a.watch((m) => heard.push(m));
    const one = add(b, 'from b', 'k');
    expect(a.byKey('k')?.text).toBe('from b');
    b.compact();
    add(b, 'after the rewrite');
    a.change(one.id, { marks: ['fix'] });
    expect(texts(a)).toEqual(['from b', 'after the rewrite']);
    expect(b.message(one.id)?.marks).toEqual(['fix']);
    expect(heard.map((m) => m.text)).toEqual(['from b', 'after the rewrite', 'from b']);
    a.close();
    b.close();
  });

  it('leaves nothing of a removed message on the disk but its place and key', () => {
    const store = new RoomStore(folder);
    const one = add(store, 'a secret caption', 'k');
    store.change(one.id, { text: 'another secret' });
    store.remove(one.id);
    expect(store.add(message('again', 'k') as never)).toMatchObject({ isNew: false });
    store.close();
    expect(readFileSync(join(folder, 'room.jsonl'), 'utf8')).not.toMatch(/secret|Juno/);
  });

  it('deletes old threads whole, forgets their places later, and never counts backwards', () => {
    const store = new RoomStore(folder);
    const at = (sentAtMs: number, text: string, more: object = {}) =>
      store.add({ ...message(text, `k-${text}`), files: [], sentAtMs, ...more } as never).message;
    const file = { id: 'f1', name: 'a.mp4', contentType: null, bytes: 1, alt: null };
    const old = at(100, 'old', { files: [file] });
    at(110, 'old answer', { thread: old.id });
    const answered = at(100, 'answered late');
    at(300, 'late answer', { thread: answered.id });
    const again = new RoomStore(folder);
    expect(store.removeUntil(109, 0)).toEqual([]);
    expect(store.removeUntil(110, 0).flatMap((m) => m.files.map((f) => f.id))).toEqual(['f1']);
    const standing = (from: RoomStore) => from.messages().flatMap((m) => (m.removed ? [] : [m.text]));
    expect(standing(store)).toEqual(['answered late', 'late answer']);
    expect(standing(again)).toEqual(['answered late', 'late answer']);
    expect(readFileSync(join(folder, 'room.jsonl'), 'utf8')).not.toMatch(/"old|a\.mp4/);
    expect(store.byKey('k-old'), 'a post that is repeated late is not posted again').toMatchObject({ removed: true });
    store.removeUntil(400, 400);
    expect([store.messages(), again.messages(), again.byKey('k-old')]).toEqual([[], [], null]);
    const { seq } = store;
    store.close();
    again.close();
    const third = new RoomStore(folder);
    expect(Number(add(third, 'next').id)).toBe(seq + 1);
    third.close();
  });

  it('deletes from the disk what is older than it may be, at the start', async () => {
    const dayMs = 24 * 3_600_000;
    let nowMs = 1_700_000_000_000;
    const never = new AbortController().signal;
    const path = join(folder, 'cut.mp4');
    writeFileSync(path, tinyMp4);
    const open = () => createRoom({ dataFolder: folder, port: 0, keepDays: 30, now: () => nowMs });
    const first = open();
    await first.start(recordEvents().events, [], never);
    const files = [{ path, name: 'cut.mp4', alt: null }];
    await first.post({ channel: 'clips', message: null }, plainMessage('of long ago', { files }), 'k-1', never);
    nowMs += 10 * dayMs;
    await first.post({ channel: 'clips', message: null }, plainMessage('of late', { files }), 'k-2', never);
    await first.stop();
    const onDisk = () => [readFileSync(join(folder, 'room.jsonl'), 'utf8'), readdirSync(join(folder, 'files')).length] as const;
    expect(onDisk()).toEqual([expect.stringContaining('of long ago'), 2]);
    nowMs += 20 * dayMs - 1;
    const second = open();
    await second.start(recordEvents().events, [], never);
    await second.stop();
    expect(onDisk()[1]).toBe(2);
    nowMs += 1;
    const third = open();
    await third.start(recordEvents().events, [], never);
    await third.stop();
    const [journal, count] = onDisk();
    expect(count).toBe(1);
    expect(journal).not.toContain('of long ago');
    expect(journal).toContain('of late');
  });

  it('loses no message that it said was kept, whenever it is killed', async () => {
    const script = join(folder, 'writer.mts');
    const storePath = new URL('../../../src/platforms/room/store.ts', import.meta.url).href;
    writeFileSync(
      script,
      `import { RoomStore } from ${JSON.stringify(storePath)};
       const store = new RoomStore(${JSON.stringify(folder)});
       for (let i = 0; ; i++) {
         const key = process.pid + '-' + i;
         const { message } = store.add({ channel: 'clips', thread: null, author: ${JSON.stringify(juno)}, text: 'x'.repeat(i % 5000), files: [], key, sentAtMs: 1 });
         if (i % 50 === 49) store.remove(message.id);
         process.stdout.write(key + '\\n');
         if (i % 20 === 0) await new Promise((resolve) => setTimeout(resolve, 1));
       }`,
    );
    const kept: string[] = [];
    for (let round = 0; round < 3; round++) {
      const child = spawn(process.execPath, ['--import', 'tsx', script], { stdio: ['ignore', 'pipe', 'inherit'] });
      let told = '';
      child.stdout.on('data', (chunk) => {
        told += String(chunk);
        if (told.split('\n').length > 150 + round * 77) child.kill('SIGKILL');
      });
      await once(child, 'close');
      kept.push(...told.split('\n').slice(0, -1));
      const store = new RoomStore(folder);
      expect(kept.filter((key) => store.byKey(key) === null)).toEqual([]);
      expect(store.damaged).toBe(0);
      store.close();
    }
    expect(kept.length).toBeGreaterThan(450);
  });

  it('clears away at the start what was uploaded and never posted', async () => {
    const room = createRoom({ dataFolder: folder, port: 0 });
    const path = join(folder, 'cut.mp4');
    writeFileSync(path, tinyMp4);
    const never = new AbortController().signal;
    const files = [{ path, name: 'cut.mp4', alt: null }];
    await room.post({ channel: 'clips', message: null }, plainMessage('kept', { files }), 'k', never);
    writeFileSync(join(folder, 'files', 'orphan'), 'never posted');
    await room.start(recordEvents().events, [], never);
    expect(existsSync(join(folder, 'files', 'orphan'))).toBe(false);
    const line = (await journal(folder)).map((text) => JSON.parse(text) as { message: StoredMessage })[0];
    expect(existsSync(join(folder, 'files', line?.message.files[0]?.id ?? ''))).toBe(true);
    await room.stop();
  });

  it('asks the bot to look again after it failed to take a message', async () => {
    const room = createRoom({ dataFolder: folder, port: 0, onError: (error) => void faults.push(error) });
    const faults: unknown[] = [];
    const got = recordEvents();
    const never = new AbortController().signal;
    const events = { ...got.events, onMessage: () => Promise.reject(new Error('ledger away')) };
    await room.start(events, [], never);
    const { enter, nonce } = await import('./page-client.ts');
    const page = await enter(room.address() ?? '', 'juno');
    await page.ask('POST', '/messages', { channel: 'clips', thread: null, text: 'hello', files: [], nonce: nonce() });
    await expect.poll(() => got.gaps, { timeout: 5000 }).toBe(2);
    expect(faults).toHaveLength(1);
    await room.stop();
  });
});

describe('the room cleans words', () => {
  it.each([
    ['plain\ttext\nstays', 'plain\ttext\nstays'],
    ['a\u202Eb\u2066c\u0007d\u200Fe', 'abcde'],
    ['\u0000\u001b[31mred', '[31mred'],
    ['line\r\nline\u2028line', 'line\nline\nline'],
    ['half \ud83d pair', 'half  pair'],
    ['lifter 🏋🏽‍♀️ stays', 'lifter 🏋🏽‍♀️ stays'],
    [`z${'\u0301'.repeat(40)}`, `z${'\u0301'.repeat(3)}`],
    ['tag\u{e0041}s', 'tags'],
  ])('%j', (dirty, clean) => expect(cleanText(dirty)).toBe(clean));

  it.each([
    ['../../etc/passwd', '.. .. etc passwd'],
    ['..', 'clip'],
    ['  \n ', 'clip'],
    ['a'.repeat(300), 'a'.repeat(120)],
    ['🏋'.repeat(200), '🏋'.repeat(120)],
  ])('name %j', (dirty, clean) => expect(cleanName(dirty, 120, 'clip')).toBe(clean));
});

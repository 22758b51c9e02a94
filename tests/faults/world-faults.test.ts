import { chmodSync, existsSync, mkdtempSync, readdirSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { Kysely, SqliteDialect } from 'kysely';
import { afterEach, describe, expect, it } from 'vitest';
import { createLedger } from '../../src/ledger/ledger.ts';
import { openLedger } from '../../src/ledger/open.ts';
import type { Platform } from '../../src/platforms/port.ts';
import { PlatformError } from '../../src/platforms/port.ts';
import { createScene, until } from '../bot/setup.ts';

type Scene = Awaited<ReturnType<typeof createScene>>;
let scene: Scene;
const after: (() => void)[] = [];
afterEach(async () => {
  for (const undo of after.splice(0).reverse()) undo();
  await scene.close();
});

/** The waits between tries double from a thousandth of a millisecond on. */
const quick = { retryAfterMs: 0.001 };

/** The bot's clock stands still in a scene; from now on it runs. */
function run() {
  const timer = setInterval(() => {
    scene.clock.nowMs += 10;
  }, 10);
  after.push(() => clearInterval(timer));
}
const inState = async (state: 'answered' | 'undeliverable', n: number) =>
  until(async () => (await scene.ledger.inState([state])).length === n);
const about = (text: string) => scene.operator.filter((line) => line.includes(text));
const final = { final: true, retryAfterMs: null };
const repliesTo = (message: { ref: Parameters<Scene['world']['replies']>[0] }) =>
  scene.world.replies(message.ref).map((post) => post.message.text);

describe('the disk', () => {
  it('waits out a full disk under the clips, however long, and tells it once', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    run();
    // Each write to /dev/full fails with ENOSPC, as on a disk that is full.
    const messages = ['m-1', 'm-2'].map((id) => join(scene.folder, `room-form-check-${id}-${id}-f0.clip.part`));
    for (const part of messages) symlinkSync('/dev/full', part);
    const clips = [await scene.world.say(['fix']), await scene.world.say(['clean'], { by: 'odo' })];
    await until(async () => ((await scene.ledger.submission('room-form-check-m-1-m-1-f0'))?.attempts ?? 0) > 16);
    expect(await scene.ledger.inState(['received'])).toHaveLength(2);
    for (const part of messages) rmSync(part);
    await inState('answered', 2);
    expect(clips.map(repliesTo)).toEqual([['reply fix first'], ['reply clean first']]);
    expect(about('ENOSPC')).toHaveLength(1);
    expect(scene.operator).toHaveLength(1);
  });

  it('waits until a read-only folder of clips can be written, and tells it once', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    run();
    chmodSync(scene.folder, 0o555);
    const isRoot = process.geteuid?.() === 0;
    if (isRoot) process.seteuid?.(65_534); // root may write everywhere
    const mend = () => {
      if (isRoot) process.seteuid?.(0);
      chmodSync(scene.folder, 0o755);
    };
    after.push(mend);
    const message = await scene.world.say(['fix']);
    await until(async () => ((await scene.ledger.submission('room-form-check-m-1-m-1-f0'))?.attempts ?? 0) > 16);
    mend();
    await inState('answered', 1);
    expect(repliesTo(message)).toEqual(['reply fix first']);
    expect(about('EACCES')).toHaveLength(1);
    expect(scene.operator).toHaveLength(1);
  });

  it('answers though no picture can be written', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    for (const ending of ['placement.png', 'timeline.png', 'sheet.png'])
      symlinkSync('/dev/full', join(scene.folder, `room-form-check-m-1-m-1-f0.${ending}`));
    const message = await scene.world.say(['unsure']);
    await inState('answered', 1);
    expect(repliesTo(message)).toEqual(['reply unsure first']);
    expect(scene.world.inChannel('coaches')).toHaveLength(1);
    expect(about('ENOSPC').length).toBeGreaterThan(0);
  });
});

describe('the ledger', () => {
  /** A ledger on a file, with its connection in the test's hands. */
  async function openFile(busyMs: number) {
    const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-world-'));
    after.push(() => rmSync(folder, { recursive: true, force: true }));
    const file = join(folder, 'ledger.sqlite');
    await (await openLedger({ file })).close();
    const database = new Database(file, { timeout: busyMs });
    database.pragma('journal_mode = WAL');
    const opened = createLedger(new Kysely({ dialect: new SqliteDialect({ database }) }), 'sqlite');
    scene = await createScene(quick, { opened });
    return { database, file };
  }
  const pages = (database: Database.Database) => Number(database.pragma('page_count', { simple: true }));

  it('keeps up with a database that is full for a while: nothing lost, nothing twice, no flood, no spinning', async () => {
    const { database } = await openFile(0);
    const bot = await scene.startBot();
    const first = await scene.world.say(['clean']);
    await inState('answered', 1);
    // Fills what is free in the file, then lets it grow no further: SQLITE_FULL.
    database.exec('create table filler (text)');
    database.pragma(`max_page_count = ${pages(database)}`);
    const fill = database.prepare('insert into filler values (zeroblob(3000))');
    expect(() => {
      for (let i = 0; i < 1000; i += 1) fill.run();
    }).toThrow('full');
    const cpu = process.cpuUsage();
    const second = await scene.world.say(['fix'], { by: 'odo' });
    const lines = scene.operator.length;
    await wait(1500);
    const { user, system } = process.cpuUsage(cpu);
    expect((user + system) / 1000, 'ms of CPU in 1.5 s').toBeLessThan(1000);
    expect(scene.operator.length - lines).toBeLessThan(6);
    database.pragma(`max_page_count = ${pages(database) + 1000}`);
    run();
    await inState('answered', 2);
    expect([repliesTo(first), repliesTo(second)]).toEqual([['reply clean first'], ['reply fix first']]);
    expect(scene.world.inChannel('coaches')).toHaveLength(1);
    expect(about('full').length).toBeLessThan(8);
    await bot.stop(0);
  });

  it('goes on when another program lets a locked database go', async () => {
    const { file } = await openFile(20);
    await scene.startBot();
    const holder = new Database(file);
    after.push(() => holder.close());
    const before = await scene.world.say(['wait']);
    await until(() => scene.measuring.measured.length === 1);
    holder.exec('BEGIN IMMEDIATE');
    scene.measuring.release();
    const during = await scene.world.say(['fix'], { by: 'odo' });
    run();
    await wait(1000);
    expect(await scene.ledger.inState(['answered'])).toEqual([]);
    holder.exec('COMMIT');
    await inState('answered', 2);
    expect([repliesTo(before), repliesTo(during)]).toEqual([['reply clean first'], ['reply fix first']]);
    expect(about('locked').length).toBeGreaterThan(0);
    expect(scene.operator.length).toBeLessThan(10);
  });
});

describe('the clock', () => {
  const dayMs = 86_400_000;

  it('does not wait for the old time when the clock is set back', async () => {
    scene = await createScene({ retryAfterMs: 60_000 });
    scene.clock.nowMs = 5 * dayMs;
    await scene.startBot();
    scene.world.fail('fetchFile', 'before', 'unreachable');
    scene.world.fail('post', 'before', 'rate-limited', { final: false, retryAfterMs: 300_000 });
    const message = await scene.world.say(['fix']);
    await until(() => scene.world.faults.length === 1);
    scene.clock.nowMs -= dayMs;
    await scene.world.tell(message); // any event wakes the bot
    await until(() => scene.world.faults.length === 0);
    scene.clock.nowMs -= dayMs;
    const second = await scene.world.say(['clean'], { by: 'odo' });
    await inState('answered', 2);
    expect([repliesTo(message), repliesTo(second)]).toEqual([['reply fix first'], ['reply clean first']]);
  });

  it('mentions the coaches again, and finds what was posted while away, after the clock was set back', async () => {
    scene = await createScene(quick);
    scene.clock.nowMs = 5 * dayMs;
    const bot = await scene.startBot();
    await scene.world.say(['clean']);
    await inState('answered', 1);
    await bot.stop(0);
    scene.clock.nowMs -= dayMs;
    const missed = await scene.world.say(['unsure'], { told: false, sentAtMs: scene.clock.nowMs });
    await scene.startBot();
    await inState('answered', 2);
    expect(repliesTo(missed)).toHaveLength(1);
    expect(scene.world.inChannel('coaches').map((post) => post.message.mention)).toEqual(['coaches-role', 'coaches-role']);
  });

  it('loses nothing that is under way when the clock jumps ahead by months', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    const message = await scene.world.say(['wait']);
    await until(() => scene.measuring.measured.length === 1);
    scene.clock.nowMs += 200 * dayMs;
    await scene.world.say(['fix'], { by: 'odo' });
    await inState('answered', 1);
    expect(readdirSync(scene.folder)).toContain('room-form-check-m-1-m-1-f0.clip');
    scene.measuring.release();
    await inState('answered', 2);
    expect(repliesTo(message)).toEqual(['reply clean first']);
  });
});

describe('the platform', () => {
  it('answers what waited once a revoked token was replaced, and tells it once', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    run();
    const revoked = { final: false, retryAfterMs: null };
    for (let i = 0; i < 15; i += 1)
      for (const call of ['post', 'setMarks', 'fetchFile'] as const) scene.world.fail(call, 'before', 'forbidden', revoked);
    const messages = [await scene.world.say(['fix']), await scene.world.say(['clean'], { by: 'odo' })];
    await inState('answered', 2);
    expect(messages.map(repliesTo)).toEqual([['reply fix first'], ['reply clean first']]);
    expect(scene.world.marks.get(messages[0]?.ref.message ?? '')).toEqual(['fix']);
    expect(about('an act is tried again')).toHaveLength(1);
    expect(about('a platform refuses the bot')).toHaveLength(1);
    expect(scene.operator).toHaveLength(3); // that, fetching and posting
  });

  it('reads the other channels when one was deleted, names that one once, and reads it when it is back', async () => {
    scene = await createScene({ ...quick, watched: { room: ['old', 'form-check'] } });
    let isGone = false;
    const shutting = (platform: Platform): Platform => ({
      ...platform,
      history: async (channel, ...rest) => {
        if (isGone && channel === 'old') throw new PlatformError('gone', 'Unknown Channel', final);
        return platform.history(channel, ...rest);
      },
    });
    const wrap = { ledger: (l: Scene['ledger']) => l, platform: shutting };
    const bot = await scene.startBot(wrap);
    await until(async () => (await scene.ledger.cursor('watched-since/room/form-check')) !== null);
    await bot.stop(0);
    isGone = true;
    const inOld = await scene.world.say(['fix'], { told: false, channel: 'old' });
    const missed = await scene.world.say(['fix'], { told: false, by: 'odo' });
    await scene.startBot(wrap);
    await inState('answered', 1);
    const live = await scene.world.say(['clean'], { by: 'pell' });
    await inState('answered', 2);
    expect([repliesTo(missed), repliesTo(live)]).toEqual([['reply fix first'], ['reply clean first']]);
    // What came is noted in the channel that can be read, so a restart does not begin from the start.
    expect(await scene.ledger.cursor('seen/room/form-check')).toBe(live.ref.message);
    run();
    await wait(300);
    expect(about('Unknown Channel')).toHaveLength(1);
    expect(about('Unknown Channel')[0]).toContain('"channel":"old"');
    isGone = false;
    await inState('answered', 3);
    expect(repliesTo(inOld)).toEqual(['reply fix first']);
  });

  it('ends what cannot be posted for good as undeliverable, says so for each, and goes on with the others', async () => {
    scene = await createScene(quick);
    await scene.startBot();
    scene.world.fail('post', 'before', 'forbidden', final);
    await scene.world.say(['fix']);
    await inState('undeliverable', 1);
    const next = await scene.world.say(['fix'], { by: 'odo' });
    await inState('answered', 1);
    expect(repliesTo(next)).toEqual(['reply fix first']);
    expect(about('an act cannot be done')).toHaveLength(1);
  });

  it('answers the member though the coaches channel is gone', async () => {
    scene = await createScene(quick);
    const wrap = {
      ledger: (l: Scene['ledger']) => l,
      platform: (platform: Platform): Platform => ({
        ...platform,
        post: async (to, ...rest) => {
          if (to.message === null) throw new PlatformError('gone', 'Unknown Channel', final);
          return platform.post(to, ...rest);
        },
      }),
    };
    await scene.startBot(wrap);
    const message = await scene.world.say(['clean']);
    await inState('answered', 1);
    expect(repliesTo(message)).toEqual(['reply clean first']);
    expect(about('coach/')).toHaveLength(1);
    expect(existsSync(join(scene.folder, 'room-form-check-m-1-m-1-f0.clip'))).toBe(true);
  });
});

import { readdirSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createWorld } from './fake-platform.ts';
import { createScene, until } from './setup.ts';

let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
});
afterEach(() => scene.close());

const ended = async (n: number) => until(async () => (await scene.ledger.inState(['answered', 'undeliverable'])).length === n);
const texts = (posts: { message: { text: string } }[]) => posts.map((post) => post.message.text);

describe('intake', () => {
  it('answers each clip of a message once, marks it seen and then by what was found', async () => {
    await scene.startBot();
    const message = await scene.world.say(['clean', 'fix']);
    await scene.world.tell(message);
    await ended(2);
    expect(texts(scene.world.replies(message.ref)).sort()).toSatisfy(
      (said: string[]) => said.filter((text) => text.endsWith(' first')).length === 1 && said.length === 2,
    );
    expect(scene.world.marks.get(message.ref.message)?.sort()).toEqual(['clean', 'fix']);
    expect(scene.world.marksSeen[0]).toBe(`${message.ref.message}:seen`);
    expect(scene.measuring.measured).toHaveLength(2);
    expect(scene.errors).toEqual([]);
  });

  it('leaves other channels, bots, pictures and talk alone', async () => {
    await scene.startBot();
    await scene.world.say(['clean'], { channel: 'chat' });
    await scene.world.say(['clean'], { isBot: true });
    await scene.world.say(['jpeg'], { names: ['plate.jpg'] });
    await scene.world.say([], { text: 'nice lift! https://example.com/video' });
    const asked = await scene.world.say(['clean'], { names: ['IMG_1.MOV'] });
    await ended(1);
    expect(scene.world.posts.filter((p) => p.to.message?.message !== asked.ref.message && p.to.message !== null)).toEqual([]);
    expect([...scene.world.marks.keys()]).toEqual([asked.ref.message]);
  });

  it('asks once to upload what is linked to on a video site', async () => {
    await scene.startBot();
    const message = await scene.world.say([], { text: 'my set: https://youtu.be/abc' });
    await scene.world.tell(message);
    await until(() => scene.world.posts.length > 0);
    await wait(50);
    expect(texts(scene.world.replies(message.ref))).toEqual(['upload instead']);
  });

  it('takes a clip that an edit adds', async () => {
    await scene.startBot();
    const message = await scene.world.say(['clean']);
    await ended(1);
    const other = await scene.world.say(['fix'], { told: false });
    await scene.world.tell({ ...message, files: [...message.files, ...other.files] });
    await ended(2);
    expect(scene.world.replies(message.ref)).toHaveLength(2);
  });

  it('takes a clip in the thread as a new take, says what got better and marks the old one anew', async () => {
    await scene.startBot();
    const first = await scene.world.say(['fix']);
    await ended(1);
    expect(scene.world.marks.get(first.ref.message)).toEqual(['fix']);
    const second = await scene.world.say(['clean'], { reply: first.ref });
    await ended(2);
    expect(texts(scene.world.replies(second.ref))).toEqual(['reply clean\nbetter 1 0']);
    expect(scene.world.marks.get(first.ref.message)).toEqual(['clean']);
    expect(scene.world.marks.get(second.ref.message)).toEqual(['clean']);
    const other = await scene.world.say(['fix'], { reply: first.ref, by: 'tamsin' });
    await ended(3);
    expect(texts(scene.world.replies(other.ref))).toEqual(['reply fix first']);
    expect(scene.world.marks.get(first.ref.message)).toEqual(['clean']);
  });
});

describe('answers', () => {
  it.each([
    ['bad', 'error clip-not-video'],
    ['crash', 'error worker-died'],
    ['x'.repeat(1001), 'error clip-too-big'],
  ])('says why a clip cannot be judged', async (clip, text) => {
    await scene.startBot();
    const message = await scene.world.say([clip]);
    await ended(1);
    expect(texts(scene.world.replies(message.ref))).toEqual([text]);
    expect(scene.world.marks.get(message.ref.message)).toEqual(['failed']);
    expect(scene.world.inChannel('coaches')).toEqual([]);
  });

  it('sends clean and unsure clips to the coaches with sheet and clip, and mentions them at most every ten minutes', async () => {
    await scene.startBot();
    await scene.world.say(['fix']);
    await ended(1);
    const clean = await scene.world.say(['clean']);
    await ended(2);
    await scene.world.say(['unsure']);
    await ended(3);
    scene.clock.nowMs += 600_000;
    await scene.world.say(['trim']);
    await ended(4);
    const cards = scene.world.inChannel('coaches').map((post) => post.message);
    expect(cards.map((card) => card.text)).toEqual([
      expect.stringContaining(`card clean juno from 0 room:${clean.ref.message}`),
      expect.stringContaining('card unsure juno from 0'),
      expect.stringContaining('card clean juno from 2'),
    ]);
    expect(cards.map((card) => card.mention)).toEqual(['coaches-role', null, 'coaches-role']);
    expect(cards[0]?.files.map((file) => [file.name, file.alt])).toEqual([
      ['reps.png', 'start 4x3,turn 4x3,lockout 4x3'],
      ['clip.mp4', null],
    ]);
    expect(cards[2]?.files.map((file) => file.name)).toEqual(['reps.png', 'trimmed.mp4']);
  });

  it('shows where to stand after a fix, and attaches the trimmed clip', async () => {
    await scene.startBot();
    const fix = await scene.world.say(['fix']);
    const trim = await scene.world.say(['trim'], { by: 'odo' });
    await ended(2);
    expect(scene.world.replies(fix.ref)[0]?.message.files.map((f) => [f.name, f.alt])).toEqual([
      ['placement.png', 'where to stand'],
    ]);
    expect(scene.world.replies(trim.ref)[0]?.message.files.map((f) => f.name)).toEqual(['timeline.png', 'trimmed.mp4']);
    expect(scene.world.replies(trim.ref)[0]?.message.text).toBe('reply clean first trimmed');
  });
});

describe('faults of the platform', () => {
  it('repeats until it is done, and posts once though the answer got lost', async () => {
    await scene.startBot();
    scene.world.fail('fetchFile', 'before', 'not-ready');
    scene.world.fail('setMarks', 'before', 'rate-limited', { final: false, retryAfterMs: 5 });
    scene.world.fail('post', 'after', 'unreachable');
    scene.world.fail('post', 'before', 'unreachable');
    const ticking = setInterval(() => {
      scene.clock.nowMs += 50;
    }, 5);
    const message = await scene.world.say(['fix']);
    await ended(1);
    clearInterval(ticking);
    expect(scene.world.faults).toEqual([]);
    expect(scene.world.posts.map((post) => post.message.text)).toEqual(['reply fix first']);
    expect(scene.world.marks.get(message.ref.message)).toEqual(['fix']);
  });

  it('ends when the message is gone', async () => {
    await scene.startBot();
    scene.world.fail('post', 'before', 'gone', { final: true, retryAfterMs: null });
    await scene.world.say(['fix']);
    await ended(1);
    expect(await scene.ledger.inState(['undeliverable'])).toHaveLength(1);
  });

  it('says so when the clip is gone', async () => {
    await scene.startBot();
    scene.world.fail('fetchFile', 'before', 'gone', { final: true, retryAfterMs: null });
    const message = await scene.world.say(['fix']);
    await ended(1);
    expect(texts(scene.world.replies(message.ref))).toEqual(['error clip-missing']);
  });
});

describe('waiting', () => {
  it('shows one message that is edited, and takes it away with the answer', async () => {
    scene.settings.progressAfterS = 0;
    await scene.startBot();
    const message = await scene.world.say(['wait']);
    await until(() => scene.world.replies(message.ref).some((post) => post.edits.length > 0));
    const shown = scene.world.replies(message.ref);
    expect(shown).toHaveLength(1);
    expect(shown[0]?.edits.at(-1)).toBe('waiting 0 0.4');
    scene.measuring.release();
    await ended(1);
    expect(texts(scene.world.replies(message.ref))).toEqual(['reply clean first']);
  });

  it('shows nothing before its time', async () => {
    await scene.startBot();
    const message = await scene.world.say(['wait']);
    scene.clock.nowMs += 19_999;
    await wait(1200);
    expect(scene.world.replies(message.ref)).toEqual([]);
    scene.clock.nowMs += 1;
    await until(() => scene.world.replies(message.ref).length === 1);
  });
});

describe('gaps', () => {
  it('reads what was posted while it was away, not what was posted before it first came', async () => {
    await scene.world.say(['fix'], { told: false, sentAtMs: 999_999 });
    const bot = await scene.startBot();
    const first = await scene.world.say(['clean']);
    await ended(1);
    await bot.stop(0);
    const missed = await scene.world.say(['fix'], { told: false });
    await scene.startBot();
    await ended(2);
    expect(scene.world.replies(first.ref)).toHaveLength(1);
    expect(texts(scene.world.replies(missed.ref))).toEqual(['reply fix']);
  });

  it('reads the gap of a reconnect though a newer message came first and reading failed at first', async () => {
    await scene.startBot();
    await scene.world.say(['clean']);
    await ended(1);
    const missed = await scene.world.say(['fix'], { told: false });
    scene.world.fail('history', 'before', 'unreachable');
    const ticking = setInterval(() => {
      scene.clock.nowMs += 50;
    }, 5);
    await scene.world.gap();
    const live = await scene.world.say(['fix']);
    await ended(3);
    clearInterval(ticking);
    expect(scene.world.replies(missed.ref)).toHaveLength(1);
    expect(scene.world.replies(live.ref)).toHaveLength(1);
  });

  it('goes on with what was being measured', async () => {
    const bot = await scene.startBot();
    const message = await scene.world.say(['wait']);
    await until(() => scene.measuring.measured.length === 1);
    await bot.stop(0);
    await scene.startBot();
    await until(() => scene.measuring.measured.length === 2);
    scene.measuring.release();
    await ended(1);
    expect(scene.world.replies(message.ref)).toHaveLength(1);
  });

  it('finds a clip that an edit added while it was away', async () => {
    const bot = await scene.startBot();
    const first = await scene.world.say(['clean']);
    await scene.world.say(['clean']);
    await ended(2);
    await bot.stop(0);
    scene.world.addTo(first, 'fix');
    await scene.startBot();
    await ended(3);
    expect(texts(scene.world.replies(first.ref)).map((text) => text.replace(' first', ''))).toEqual(['reply clean', 'reply fix']);
    expect(scene.world.marks.get(first.ref.message)).toEqual(['clean', 'fix']);
  });

  it('looks for edits in the messages of the last day only', async () => {
    const bot = await scene.startBot();
    const hourMs = 3_600_000;
    const said = [];
    for (let i = 0; i < 30; i += 1) {
      scene.clock.nowMs += hourMs;
      said.push(await scene.world.say(['clean'], { sentAtMs: scene.clock.nowMs }));
    }
    await ended(30);
    await bot.stop(0);
    for (const i of [2, 20]) scene.world.addTo(said[i]!, 'fix');
    await scene.startBot();
    await ended(31);
    await wait(50);
    expect(said.filter(({ ref }) => scene.world.replies(ref).length === 2)).toEqual([said[20]]);
  });

  it('misses nothing when a newer message comes between the word of a gap and its reading', async () => {
    await scene.startBot();
    await scene.world.say(['clean']);
    await ended(1);
    const missed = await scene.world.say(['fix'], { told: false });
    const live = scene.world.say(['fix']);
    const gap = scene.world.gap();
    await Promise.all([live, gap]);
    await ended(3);
    expect(scene.world.replies(missed.ref)).toHaveLength(1);
  });
});

describe('start', () => {
  it('goes on with one platform while another cannot be reached, and takes it up as soon as it can', async () => {
    scene.settings.watched.slack = ['form-check'];
    const away = createWorld('slack');
    for (let i = 0; i < 3; i += 1)
      away.fail('start', 'before', 'unreachable', { final: false, retryAfterMs: i === 0 ? 300 : null });
    const bot = await scene.startBot(undefined, [away.adapter()]);
    expect(bot.platforms()).toEqual({ slack: { state: 'unreachable', why: 'unreachable' }, room: { state: 'up', why: null } });
    const here = await scene.world.say(['clean']);
    await ended(1);
    expect(scene.world.replies(here.ref)).toHaveLength(1);
    expect(scene.errors[0]).toMatch(
      /^a platform could not be started, it is tried again: .*"platform":"slack","code":"unreachable"/,
    );
    await until(() => bot.platforms().slack?.state === 'up');
    const there = await away.say(['fix']);
    await ended(2);
    expect(away.replies(there.ref)).toHaveLength(1);
    expect(scene.errors).toHaveLength(3);
  });

  it('does not hold up the others for a platform that never answers', async () => {
    const silent = { ...createWorld('discord').adapter(), start: () => new Promise<never>(() => {}) };
    void scene.startBot(undefined, [silent]);
    await until(async () => (await scene.ledger.cursor('watched-since/room/form-check')) !== null);
    const message = await scene.world.say(['clean']);
    await ended(1);
    expect(scene.world.replies(message.ref)).toHaveLength(1);
  });

  it('goes on without a platform that refuses it, and ends when there is no other', async () => {
    const shut = createWorld('discord');
    shut.fail('start', 'before', 'forbidden', { final: true, retryAfterMs: null });
    const bot = await scene.startBot(undefined, [shut.adapter()]);
    expect(bot.platforms()).toEqual({ discord: { state: 'refused', why: 'forbidden' }, room: { state: 'up', why: null } });
    await bot.stop(0);
    scene.world.fail('start', 'before', 'forbidden', { final: true, retryAfterMs: null });
    await expect(scene.startBot()).rejects.toThrow('forbidden');
  });
});

describe('clips on the disk', () => {
  it('deletes a clip and what was made of it once it has been answered long enough, not before', async () => {
    const bot = await scene.startBot();
    await scene.world.say(['trim']);
    await ended(1);
    const clip = readdirSync(scene.folder);
    expect(clip.map((name) => name.slice(name.indexOf('.'))).sort()).toEqual([
      '.clip',
      '.cut.mp4',
      '.sheet.png',
      '.timeline.png',
    ]);
    await bot.stop(0);
    scene.clock.nowMs += 24 * 3_600_000 - 1;
    const later = await scene.startBot();
    await scene.world.say(['wait']);
    await until(() => readdirSync(scene.folder).length === clip.length + 1);
    await later.stop(0);
    scene.clock.nowMs += 1;
    await scene.startBot();
    await until(() => readdirSync(scene.folder).length === 1);
    expect(clip).not.toContain(readdirSync(scene.folder)[0]);
    scene.measuring.release();
  });
});

/** What the bot answers, also while a clip waits and when the platform fails, and what of a clip is left on the disk. */
import { readdirSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { actFor, progressKey } from '../../src/bot/payload.ts';
import { ended, scene, texts } from './bot-scene.ts';
import { until } from './setup.ts';

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

  it('takes it away also when it was planned after the answer and a try of it may have arrived', async () => {
    const bot = await scene.startBot();
    const message = await scene.world.say(['clean']);
    await ended(1);
    await bot.stop(0);
    // what a bot leaves that dies in its first try
    const [id] = await scene.ledger.inState(['answered']);
    const clip = await scene.ledger.submission(id!);
    const act = actFor(clip!, progressKey(id!), { do: 'progress', on: message.ref });
    await scene.ledger.plan([act], scene.clock.nowMs);
    await scene.ledger.beginAct(act.key, scene.clock.nowMs);
    await scene.startBot();
    await until(async () => (await scene.ledger.act(`remove/${act.key}`))?.state === 'done');
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

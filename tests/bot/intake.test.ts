/** What the bot takes in: as it is posted, and what was posted while it was away. */
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { ended, scene, texts } from './bot-scene.ts';
import { until } from './setup.ts';

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

  it("asks the member in the thread of a clip too, but leaves a coach's link there alone", async () => {
    await scene.startBot();
    const clip = await scene.world.say(['fix']);
    await ended(1);
    const text = 'like this: https://youtu.be/abc';
    const shown = await scene.world.say([], { text, by: 'ilse', reply: clip.ref });
    const own = await scene.world.say([], { text, reply: clip.ref });
    await until(() => scene.world.replies(own.ref).length > 0);
    expect(texts(scene.world.replies(own.ref))).toEqual(['upload instead']);
    // The thread's acts are done in order: one for the earlier link would stand by now.
    expect(scene.world.replies(shown.ref)).toEqual([]);
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

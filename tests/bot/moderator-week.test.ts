/** What moderators are told: suggestions, and the report of the week. */
import { beforeEach, describe, expect, it } from 'vitest';
import { dayMs, mondayMs, said, scene, stored } from './moderator-scene.ts';
import { until } from './setup.ts';
import { overruled } from './stored-clip.ts';

describe('suggestions', () => {
  it('name rules that are overruled, and a change to try with the clips that it rests on', async () => {
    for (let i = 0; i < 6; i += 1) await stored(`c${i}`, 180, overruled);
    await stored('good', 135);
    await scene.startBot();
    const { text, choices } = await said('button', 'rules-suggest');
    expect(text).toContain('stops 6 clips; 6 of them were appealed or used all the same (6 by a coach');
    expect(text).toContain('It rests on 6 clips: 6 put right that are judged wrong now, 0 made wrong.');
    const value = choices[0]!.options[0]!.value;
    expect(value.length).toBeLessThanOrEqual(100);
    const tried = await said('choice', 'rules-try', { 'rules-try': value });
    expect(tried.text).toContain('**6 clips: sent back → ');
    expect(tried.buttons[0]?.id).toMatch(/^rules-apply:/);
    expect((await said('choice', 'rules-try', { 'rules-try': 'a:b:c:d' })).text).toMatch(/no such rule/);
  });

  it('are none without words of people', async () => {
    await stored('c', 180);
    await scene.startBot();
    expect((await said('button', 'rules-suggest')).text).toMatch(
      /^Nothing to suggest: nobody has said of any of the last 1 clip/,
    );
  });
});

describe('the week', () => {
  it('is told when a moderator asks', async () => {
    await stored('old', 180, [], mondayMs - 8 * dayMs);
    await stored('a', 135);
    await stored('b', 180, [{ kind: 'appeal' }]);
    await stored('c', 0);
    await scene.startBot();
    const { text } = await said('command', 'report');
    expect(text).toContain('**The seven days up to 23 Nov 2026, 08:00 UTC**');
    expect(text).toContain('**Clips:** 3 by 1 member: 1 clean, 0 unsure, 2 sent back.');
    expect(text).toContain('**First takes:** 1 of 3 clean (33 %).');
    expect(text).toContain('half within 8 s, nine in ten within 8 s');
    expect(text).toContain("**Coaches' time saved:** 8 s = 0 s cut from 0 clips that went to the coaches + 8 s of 1 clip");
    expect(text).toContain('**Corrections:** **view** (where the phone stands) 2.');
    expect(text).toContain('**Appeals:** 1; a coach could use 0 and could not use 0, 1 not looked at yet.');
  });

  it('is posted to the moderators on the set day from the set hour on, once over restarts', async () => {
    await stored('a', 135);
    Object.assign(scene.settings, { reportDay: 'monday', reportHour: 9, zone: 'Europe/Berlin', correctionMin: 2 });
    scene.clock.nowMs = mondayMs - 60_000; // 08:59 in Berlin
    const first = await scene.startBot();
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(scene.world.inChannel('moderators')).toEqual([]);
    await first.stop(0);
    scene.clock.nowMs = mondayMs;
    for (let i = 0; i < 2; i += 1) {
      const bot = await scene.startBot();
      await until(() => scene.world.inChannel('moderators').length === 1);
      await bot.stop(0);
    }
    const [report] = scene.world.inChannel('moderators');
    expect(report?.message.text).toContain('**Clips:** 1 by 1 member');
    expect(report?.message.text).toContain('0 corrections not written, 2 min each by the settings');
    expect(scene.world.inChannel('moderators')).toHaveLength(1);
  });

  describe('that was missed', () => {
    const hourMs = 3_600_000;
    const reports = () => scene.world.inChannel('moderators').map(({ message }) => message.text);
    beforeEach(() => {
      Object.assign(scene.settings, { reportDay: 'monday', reportHour: 9 });
    });
    /** Runs bots at once at a time, until the report of a day was looked after. */
    async function runAt(nowMs: number, date: string, bots = 1) {
      scene.clock.nowMs = nowMs;
      const running = await Promise.all(Array.from({ length: bots }, () => scene.startBot()));
      await until(async () => (await scene.ledger.cursor('week/room')) === date);
      await until(async () => (await scene.ledger.dueActs(nowMs, 9)).length === 0);
      for (const bot of running) await bot.stop(0);
    }

    it('is posted once at the next start, with the numbers up to its hour, also by two bots and when its act was forgotten', async () => {
      await stored('before', 135);
      await stored('after', 180, [], mondayMs + 2 * hourMs);
      await runAt(mondayMs + 2 * dayMs, '2026-11-23', 2);
      expect(reports()).toHaveLength(1);
      expect(reports()[0]).toContain('**The seven days up to 23 Nov 2026, 09:00 UTC**\n**Clips:** 1 by 1 member: 1 clean');
      await scene.ledger.forget(mondayMs + 3 * dayMs, 0);
      expect(await scene.ledger.act('week/room/2026-11-23')).toBeNull();
      await runAt(mondayMs + 4 * dayMs, '2026-11-23');
      expect(reports()).toHaveLength(1);
      await runAt(mondayMs + 7 * dayMs + hourMs, '2026-11-30');
      expect(reports()).toHaveLength(2);
      expect(reports()[1]).toContain(
        '**The seven days up to 30 Nov 2026, 09:00 UTC**\n**Clips:** 1 by 1 member: 0 clean, 0 unsure, 1 sent back.',
      );
    });

    it('is the last of several, and none where its week had no clips', async () => {
      await stored('first', 135);
      await stored('third', 180, [], mondayMs + 13 * dayMs);
      await runAt(mondayMs + 15 * dayMs, '2026-12-07');
      expect(reports()).toHaveLength(1);
      expect(reports()[0]).toContain('**The seven days up to 7 Dec 2026, 09:00 UTC**');
      await runAt(mondayMs + 30 * dayMs, '2026-12-21');
      expect(reports()).toHaveLength(1);
    });

    it('does not tell of days again when the set day is moved', async () => {
      await stored('a', 135);
      await stored('b', 135, [], mondayMs + 5 * dayMs);
      await runAt(mondayMs + hourMs, '2026-11-23');
      Object.assign(scene.settings, { reportDay: 'tuesday' });
      await runAt(mondayMs + 2 * dayMs, '2026-11-24');
      expect(reports()).toHaveLength(1);
      await runAt(mondayMs + 9 * dayMs, '2026-12-01');
      expect(reports()).toHaveLength(2);
    });
  });

  it('has no clips', async () => {
    await scene.startBot();
    expect((await said('command', 'report')).text).toMatch(/^No clips were judged/);
  });
});

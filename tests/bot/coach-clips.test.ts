/** How coaches share the clips out: taking, being done, the list and the digest. */
import { describe, expect, it } from 'vitest';
import { coaches, command, hourMs, post, press, scene, send, stateOf, textOf } from './coach-scene.ts';
import { until } from './setup.ts';

describe('taking', () => {
  it('gives a clip to one of two coaches who press at once', async () => {
    await scene.startBot();
    const { id } = await post('clean');
    for (let round = 0; round < 5; round += 1) {
      const replies = await Promise.all(['ilse', 'brannock'].map((by) => press(`take:${id}`, by)));
      const texts = replies.map(textOf);
      expect(texts.filter((text) => text.startsWith('It is yours now'))).toHaveLength(1);
      const { coachId } = (await scene.ledger.desk.entry(id))!;
      expect(texts.filter((text) => text === `${coachId} has this one already.`)).toHaveLength(1);
      await press(`hand-back:${id}`, coachId!);
    }
  });

  it('is done once by a press that is delivered again, also after a restart', async () => {
    const bot = await scene.startBot();
    const { id } = await post('clean');
    const action = { kind: 'button' as const, id: `take:${id}`, pressId: 'press-1' };
    await scene.world.act(action, 'ilse', coaches);
    await press(`hand-back:${id}`);
    await bot.stop(0);
    await scene.startBot();
    expect(textOf(await scene.world.act(action, 'ilse', coaches))).toContain('It is yours now');
    expect(await stateOf(id)).toBe('waiting');
  });

  it('leaves a clip to its coach; a moderator may hand it back', async () => {
    await scene.startBot();
    const { id } = await post('clean');
    expect(textOf(await press(`done:${id}`))).toBe('Nobody has taken this one yet. Take it first.');
    await press(`take:${id}`);
    expect(textOf(await press(`take:${id}`))).toBe('You have this one already.');
    for (const verb of ['take', 'done', 'unusable'])
      expect(textOf(await press(`${verb}:${id}`, 'brannock'))).toBe('ilse has this one already.');
    expect(textOf(await press(`hand-back:${id}`, 'brannock'))).toContain('Only ilse or a moderator');
    expect(textOf(await press(`hand-back:${id}`, 'wren', ['moderator']))).toBe('It waits for a coach again.');
    await press(`take:${id}`);
    await press(`done:${id}`);
    expect(textOf(await press(`take:${id}`, 'brannock'))).toBe('ilse is done with this one.');
  });

  it.each(['take', 'hand-back', 'done', 'unusable', 'ask-view', 'end-request'])('%s is refused to members', async (verb) => {
    await scene.startBot();
    const { id } = await post('clean');
    expect(textOf(await press(`${verb}:${id}`, 'juno', ['member']))).toMatch(/^Only coaches/);
    expect(await stateOf(id)).toBe('waiting');
    expect(await scene.ledger.audit.last(1)).toMatchObject([{ act: verb, subject: id, personId: 'juno', allowed: false }]);
  });
});

describe('being done with one of several takes', () => {
  it('says that the mark is that of the newest take, which decides it', async () => {
    await scene.startBot();
    const first = await post('unsure');
    const second = await post('clean', 'juno', { reply: first.message.ref });
    for (const verb of ['take', 'done']) await press(`${verb}:${second.id}`, 'brannock');
    const marks = () => scene.world.marks.get(first.message.ref.message)?.join();
    await until(() => marks() === 'done');
    const third = await post('fix', 'juno', { reply: first.message.ref });
    await until(() => marks() === 'fix');
    await press(`take:${first.id}`);
    expect(textOf(await press(`done:${first.id}`))).toBe(
      'Done. juno has posted a newer take of this set, so the mark on the posts is the one for that take.',
    );
    await until(async () => (await scene.ledger.dueActs(scene.clock.nowMs, 9)).length === 0);
    expect(marks()).toBe('fix');
    expect((await scene.ledger.submission(third.id))?.root).toBe(first.id);
  });

  it('says that the post has the mark where no newer take was judged', async () => {
    await scene.startBot();
    const { id } = await post('clean');
    await press(`take:${id}`);
    expect(textOf(await press(`done:${id}`))).toBe("Done. juno's post has the mark for it.");
  });
});

describe('the list', () => {
  it('shows what waits, the oldest first, what the coach has, and what others have', async () => {
    await scene.startBot();
    expect(textOf(await command())).toBe('No clip waits for a coach.');
    const ids: string[] = [];
    for (const by of ['juno', 'tamsin', 'odo']) {
      ids.push((await post('clean', by)).id);
      scene.clock.nowMs += 2 * hourMs;
    }
    await press(`take:${ids[0]}`, 'brannock');
    await press(`take:${ids[2]}`);
    const reply = await command();
    expect(textOf(reply)).toMatch(
      /^\*\*You have 1 clip:\*\*\n1\. odo: Squat.*, here for 2 hours room:m-\d+\n\*\*1 clip waits, the oldest first:\*\*\n2\. tamsin: Squat.*, here for 4 hours .*\nbrannock has 1 clip\.$/,
    );
    expect(reply).toMatchObject({
      message: {
        buttons: [
          { id: `done:${ids[2]}`, label: 'Done 1' },
          { id: `take:${ids[1]}`, label: 'Take 2' },
        ],
      },
    });
    expect(textOf(await command('juno', ['member']))).toMatch(/^Only coaches/);
  });
});

describe('the digest', () => {
  const digests = () => scene.world.inChannel('coaches').filter(({ key }) => key.startsWith('digest/'));
  const at = (hour: number, day = 25) => Date.UTC(2026, 10, day, hour, 30);
  const atClock = () => ({ sentAtMs: scene.clock.nowMs });

  it('says once a day at its hour what waits, how long clips waited, who was served and what was sent back', async () => {
    Object.assign(scene.settings, { digestHour: 18, zone: 'Europe/Berlin' });
    scene.clock.nowMs = at(8);
    let bot = await scene.startBot();
    const ids: string[] = [];
    for (const [i, by] of ['juno', 'juno', 'tamsin', 'odo', 'odo'].entries()) {
      ids.push((await post('clean', by, atClock())).id);
      if (i === 0) await post('fix', 'pell', atClock());
    }
    await post('fix', 'pell', atClock());
    await post('dark', 'pell', atClock());
    for (const id of ids.slice(0, 3)) {
      scene.clock.nowMs += hourMs;
      await press(`take:${id}`);
      await press(`done:${id}`);
    }
    await send(`unusable:${ids[3]}`, { reason: 'light' });
    expect(digests()).toEqual([]);
    await bot.stop(0);
    // Half past five in Berlin, then half past six.
    scene.clock.nowMs = at(16);
    bot = await scene.startBot();
    await new Promise((resolve) => setTimeout(resolve, 50));
    await bot.stop(0);
    expect(digests()).toEqual([]);
    scene.clock.nowMs = at(17);
    bot = await scene.startBot();
    await until(() => digests().length === 1);
    expect(digests()[0]!.message.text.split('\n')).toEqual([
      '**The desk in the last 24 hours**',
      '1 clip waits, the oldest for 9 hours.',
      'Half of the clips that were taken had waited 2 hours or less.',
      'Done: ilse 3.',
      'For: juno (2) and tamsin.',
      '1 clip passed and was not usable.',
      'Sent back most often for where the phone stands (2), the light (1) and which way up it plays (1).',
    ]);
    await bot.stop(0);
    for (const [hour, day, count] of [
      [18, 25, 1],
      [17, 26, 2],
      [20, 27, 2],
    ] as const) {
      scene.clock.nowMs = at(hour, day);
      const again = await scene.startBot();
      await until(() => digests().length === count);
      await new Promise((resolve) => setTimeout(resolve, 50));
      await again.stop(0);
      expect(digests()).toHaveLength(count);
    }
    expect(digests()[1]!.message.text).toContain('No clip was taken.\nNo clip was sent back.');
    expect(scene.errors).toEqual([]);
  });
});

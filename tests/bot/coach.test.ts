import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Facts } from '../../src/facts/facts.ts';
import type { ActionReply } from '../../src/platforms/port.ts';
import { rules } from '../../src/rules/index.ts';
import { languages } from '../../src/wording/index.ts';
import { factsOfSet } from '../record/made-sets.ts';
import { createScene, until } from './setup.ts';

let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
});
afterEach(() => scene.close());

const hourMs = 3_600_000;
const coaches = ['coach'];
const textOf = (reply: ActionReply) => (reply.kind === 'private' ? reply.message.text : reply.kind);
const labelsOf = (reply: ActionReply) => (reply.kind === 'private' ? reply.message.buttons.map(({ label }) => label) : []);

/** Posts a clip and waits for its answer; the id of its submission. */
async function post(what: string, by = 'juno', more: object = {}) {
  const before = (await scene.ledger.inState(['answered'])).length;
  const message = await scene.world.say([what], { by, ...more });
  await until(async () => (await scene.ledger.inState(['answered'])).length === before + 1);
  const lane = `room/form-check/${message.ref.thread ?? message.ref.message}`;
  const id = (await scene.ledger.inLane(lane)).at(-1)!.id;
  return { message, id };
}
const press = (id: string, by = 'ilse', groups = coaches) => scene.world.act({ kind: 'button', id }, by, groups);
const send = (id: string, values: Record<string, string>, by = 'ilse') =>
  scene.world.act({ kind: 'form', id, values }, by, coaches);
const command = (by = 'ilse', groups = coaches) => scene.world.act({ kind: 'command', id: 'waiting' }, by, groups);
const card = (id: string) => scene.world.posts.find(({ key }) => key === `coach/${id}`)!;
const shows = (id: string, text: string) => until(() => card(id).now.text.includes(text));
const stateOf = async (id: string) => (await scene.ledger.desk.entry(id))?.state;

describe('the card', () => {
  it('offers what a coach can do, shows who has the clip, keeps its files and mentions nobody again', async () => {
    await scene.startBot();
    const { message, id } = await post('clean');
    const labels = () => card(id).now.buttons.map(({ label }) => label);
    expect(labels()).toEqual(['Take', 'Filming is not usable', 'Ask for another view']);
    expect(card(id).message.mention).toBe('coaches-role');
    const { text, files } = card(id).message;
    const taken = await press(`take:${id}`);
    expect(textOf(taken)).toContain('It is yours now: **juno: Squat x 1**\nThread: room:m-1');
    expect(labelsOf(taken)).toEqual(['Done', 'Hand back', 'Filming is not usable', 'Ask for another view']);
    await shows(id, '**With ilse.**');
    expect(labels()).toEqual(['Done', 'Hand back', 'Filming is not usable', 'Ask for another view']);
    expect(
      card(id)
        .now.text.split('\n')
        .filter((line) => line !== '**With ilse.**'),
    ).toEqual(text.split('\n'));
    expect(card(id).now).toMatchObject({ files, mention: null });
    expect(files.length).toBeGreaterThan(0);
    await press(`hand-back:${id}`);
    await until(() => card(id).now.text === text);
    expect(labels()[0]).toBe('Take');
    await press(`take:${id}`, 'brannock');
    await press(`done:${id}`, 'brannock');
    await shows(id, '**Done by brannock.**');
    expect(labels()).toEqual(['Ask for another view']);
    await until(() => scene.world.marks.get(message.ref.message)?.join() === 'done');
    // The member gets the mark and nothing else.
    expect(scene.world.replies(message.ref)).toHaveLength(1);
    expect(scene.errors).toEqual([]);
  });

  it('is made for clips that pass alone', async () => {
    await scene.startBot();
    const { id } = await post('fix');
    expect(await scene.ledger.desk.entry(id)).toBeNull();
    expect(textOf(await press(`take:${id}`))).toBe('I know nothing of this clip any more.');
  });

  it("tells of the member's earlier clips of the lift, the newest first, three at most, nobody else's", async () => {
    await scene.startBot();
    for (const what of ['clean', 'fix', 'unsure', 'clean']) {
      await post(what);
      scene.clock.nowMs += hourMs;
    }
    await post('clean', 'tamsin');
    const { id } = await post('clean');
    const lines = card(id)
      .message.text.split('\n')
      .filter((line) => line.startsWith('Earlier: '));
    expect(lines.map((line) => line.replace(/ room:.*/, ''))).toEqual([
      'Earlier: 1 January 1970, well filmed',
      'Earlier: 1 January 1970, passed on, not sure',
      'Earlier: 1 January 1970, sent back',
    ]);
    expect(lines[2]).toMatch(/ room:m-\d+$/);
  });
});

describe("the bar's speed on the card", () => {
  /** A clip that was measured; the newest is still to be answered. */
  async function keep(id: string, facts: Facts, state: 'answered' | 'judged') {
    const ref = { platform: 'room', channel: 'form-check', message: id, thread: null } as const;
    const file = { id: 'f', name: 'a.mp4', contentType: null, bytes: 1 };
    const by = { authorId: 'juno', authorName: 'juno', caption: '', sentMs: Date.UTC(2026, 10, 12) };
    await scene.ledger.receive({ id, ref, lane: id, file, takeOf: null, root: id, ...by }, [], 1);
    const judgement = {
      ...{ verdict: 'clean', lift: 'squat', findings: [], cannotTell: [], trim: null },
      ...{ cleanByTrim: false, wanted: null },
    };
    await scene.ledger.move(id, ['received'], state, 2, { facts, judgement, verdict: 'clean' });
  }
  const lineOf = (id: string, start: RegExp) =>
    card(id)
      .message.text.split('\n')
      .filter((line) => start.test(line));

  it('stands beside the last set of the same lift and load, with a chart', async () => {
    await keep('other-load', factsOfSet({ meansMps: [0.9, 0.9], loadKg: 60 }), 'answered');
    await keep('before', factsOfSet({ meansMps: [0.4, 0.38], loadKg: 100 }), 'answered');
    await keep('now', factsOfSet({ meansMps: [0.6, 0.58], loadKg: 100 }), 'judged');
    await scene.startBot();
    await until(() => card('now') !== undefined);
    expect(lineOf('now', /^Bar speed/)[0]).toMatch(/0\.60.*0\.58.*m\/s/);
    expect(lineOf('now', /faster/i)[0]).toMatch(/100 kg/);
    expect(lineOf('now', /^Earlier: /)).toEqual([
      'Earlier: 12 November 2026, 100 kg, well filmed room:before',
      'Earlier: 12 November 2026, 60 kg, well filmed room:other-load',
    ]);
    expect(card('now').message.files).toMatchObject([{ name: 'speeds.png', alt: '2 reps beside 2' }]);
    expect(scene.errors).toEqual([]);
  });

  it('is said to be unknown where the view does not allow it', async () => {
    const { barSpeed: _, ...rest } = factsOfSet({ meansMps: [0.5] });
    await keep('now', { ...rest, barSpeed: { known: false, reason: 'camera-moves' } }, 'judged');
    await scene.startBot();
    await until(() => card('now') !== undefined);
    expect(lineOf('now', /^Bar speed/)).toEqual(['Bar speed: cannot tell (the phone moved).']);
    expect(card('now').message.files).toEqual([]);
  });
});

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

describe('filming that is not usable', () => {
  it('sends the clip back with the reason and keeps it as a fault that was missed', async () => {
    await scene.startBot();
    const { message, id } = await post('clean');
    const form = await press(`unusable:${id}`);
    if (form.kind !== 'form') throw new Error(form.kind);
    const [reason] = form.form.fields;
    expect(reason?.kind === 'choice' && reason.options.map(({ value }) => value)).toEqual(rules.map(({ id: rule }) => rule));
    expect(rules.length).toBeLessThanOrEqual(25); // a choice's limit
    expect(textOf(await send(`unusable:${id}`, { reason: 'no-such' }))).toContain('none of the reasons');
    await send(`unusable:${id}`, { reason: 'view', note: 'I cannot see the hips.' });
    await send(`unusable:${id}`, { reason: 'light' });
    await until(() => scene.world.marks.get(message.ref.message)?.join() === 'fix');
    await shows(id, '**Sent back by ilse: where the phone stands.** I cannot see the hips.');
    const replies = scene.world.replies(message.ref).map((one) => one.message.text);
    expect(replies).toHaveLength(2);
    expect(replies[1]).toContain('Put it behind your left shoulder.');
    expect(replies[1]).toContain('**ilse:** I cannot see the hips.');
    expect(await scene.ledger.evidence.of(id)).toMatchObject([
      { kind: 'unusable', rule: 'view', reason: 'I cannot see the hips.', byId: 'ilse' },
    ]);
    expect(await stateOf(id)).toBe('unusable');
  });

  it('is no missed fault where the member sent on what was sent back', async () => {
    await scene.startBot();
    const { message, id } = await post('fix');
    await scene.world.act({ kind: 'form', id: `appeal:${id}`, values: { reason: 'It shows all.' } }, 'juno');
    await until(() => scene.world.posts.some(({ key }) => key === `coach/${id}`));
    expect(textOf(await send(`unusable:${id}`, { reason: 'view' }))).toBe('I told juno in their thread what to change.');
    await until(() => scene.world.marks.get(message.ref.message)?.join() === 'fix');
    expect((await scene.ledger.evidence.of(id)).map(({ kind }) => kind)).toEqual(['appeal']);
  });

  it('is named to coaches as what is wrong with the lifter, not with them', () => {
    for (const { forCoaches, ruleNames, reasons } of Object.values(languages)) {
      expect(Object.keys(forCoaches.ruleNames)).toEqual(Object.keys(ruleNames));
      expect(Object.keys(forCoaches.reasons)).toEqual(Object.keys(reasons));
      for (const text of [...Object.values(forCoaches.ruleNames), ...Object.values(forCoaches.reasons)])
        expect(text).not.toMatch(/\byou/i);
    }
  });

  it('has a sentence for every rule, in every language', () => {
    for (const { coach } of Object.values(languages)) {
      expect(Object.keys(coach.corrections).sort()).toEqual(rules.map(({ id }) => id).sort());
      for (const correction of Object.values(coach.corrections))
        for (const at of [null, 'here'])
          expect(correction({ place: at, height: at, distance: at })).toMatch(/^[A-Z][^{}]{30,200}\.$/);
    }
  });
});

describe('another view', () => {
  const ask = (id: string, values: Record<string, string> = {}) => send(`ask-view:${id}`, { view: 'front', ...values });
  const lastReply = (ref: { message: string }) =>
    scene.world.posts.findLast(({ to, key }) => to.message?.message === ref.message && key.startsWith('reply/'))!.message.text;
  const open = () => scene.ledger.requests.openOf('room', 'juno', scene.clock.nowMs);

  it("is asked in the member's thread; their clips are judged by it until it is served, and card and reply say so", async () => {
    await scene.startBot();
    const { message, id } = await post('clean');
    const form = await press(`ask-view:${id}`);
    expect(form.kind === 'form' && form.form.fields.map((field) => [field.id, field.required])).toEqual([
      ['lift', false],
      ['view', true],
      ['clips', false],
      ['until', false],
      ['note', false],
    ]);
    await ask(id, { clips: '2', note: 'Let me see the knees.' });
    await until(() => scene.world.replies(message.ref).length === 2);
    const said = scene.world.replies(message.ref)[1]!.message.text;
    expect(said).toContain(
      '**ilse would like to see your squat from straight in front.**\nPut the phone straight in front of you.',
    );
    expect(said).toContain('**ilse:** Let me see the knees.');
    expect(said).toContain('I look at your next 2 squat clips this way');

    const other = await post('fix', 'tamsin');
    expect(lastReply(other.message.ref)).not.toContain('ilse');
    const first = await post('fix');
    expect(lastReply(first.message.ref)).toContain(
      'I looked at this clip the way ilse asked for: squat, from straight in front. 1 more clip like this, please.',
    );
    expect(card(first.id).message.text).toContain('ilse asked for it from straight in front: Let me see the knees.');
    expect((await scene.ledger.submission(first.id))?.request).not.toBeNull();
    // Sent back, so not counted.
    const dark = await post('dark');
    expect((await scene.ledger.submission(dark.id))?.request).not.toBeNull();
    expect(await open()).toMatchObject([{ clipsLeft: 1 }]);
    const second = await post('fix');
    expect(lastReply(second.message.ref)).toContain('from the next clip on the usual rules count');
    expect(await open()).toEqual([]);
    const third = await post('fix');
    expect((await scene.ledger.submission(third.id))?.verdict).toBe('fix');
    expect(lastReply(third.message.ref)).not.toContain('ilse');
  });

  it('lasts up to the end of a day in the zone of the settings', async () => {
    scene.settings.zone = 'America/New_York';
    scene.clock.nowMs = Date.UTC(2026, 10, 25, 12);
    await scene.startBot();
    const at = () => ({ sentAtMs: scene.clock.nowMs });
    const { id, message } = await post('clean', 'juno', at());
    for (const until of ['2026-11-24', '2026-02-30', 'soon'])
      expect(textOf(await ask(id, { until }))).toContain('could not read');
    await ask(id, { until: '2026-11-26' });
    await until(() => scene.world.replies(message.ref).length === 2);
    expect(scene.world.replies(message.ref)[1]!.message.text).toContain('up to 26 November 2026');
    // Midnight in New York is 05:00 UTC in winter.
    expect(await open()).toMatchObject([{ untilMs: Date.UTC(2026, 10, 27, 5), clipsLeft: null }]);
    scene.clock.nowMs = Date.UTC(2026, 10, 27, 5) - 1;
    expect((await scene.ledger.submission((await post('fix', 'juno', at())).id))?.verdict).toBe('clean');
  });

  it('does not count for a clip that is still measured when it ends', async () => {
    await scene.startBot();
    const { id } = await post('clean');
    const untilMs = scene.clock.nowMs + 1000;
    const by = { byId: 'ilse', byName: 'ilse', platform: 'room', memberId: 'juno' };
    await scene.ledger.requests.add({ ...by, id: 'r', lift: 'squat', view: 'rear', note: '', clipsLeft: null, untilMs }, 1);
    const waits = await scene.world.say(['wait']);
    await until(() => scene.measuring.measured.length === 2);
    scene.clock.nowMs = untilMs;
    scene.measuring.release();
    await until(async () => (await scene.ledger.inState(['answered'])).length === 2);
    const late = (await scene.ledger.inLane(`room/form-check/${waits.ref.message}`))[0];
    expect(late).toMatchObject({ verdict: 'clean', request: null });
    expect(late?.id).not.toBe(id);
  });

  it('serves no more clips than were asked for when several are judged at once', async () => {
    await scene.startBot();
    await ask((await post('clean')).id, { clips: '2' });
    await scene.world.say(['fix', 'fix', 'fix', 'fix']);
    await until(async () => (await scene.ledger.inState(['answered'])).length === 5);
    const lane = `room/form-check/${scene.world.messages.at(-1)!.ref.message}`;
    const verdicts = (await scene.ledger.inLane(lane)).map(({ verdict }) => verdict);
    expect(verdicts.sort()).toEqual(['clean', 'clean', 'fix', 'fix']);
    expect(await open()).toEqual([]);
  });

  it('can be taken back, and the member is told', async () => {
    await scene.startBot();
    const { message, id } = await post('clean');
    const reply = await ask(id);
    const [button] = reply.kind === 'private' ? reply.message.buttons : [];
    expect(button!.id.length).toBeLessThanOrEqual(100);
    expect(textOf(await press(button!.id))).toContain('I took that back');
    expect(textOf(await press(button!.id))).toBe('That is over already.');
    await until(() => scene.world.replies(message.ref).length === 3);
    expect(scene.world.replies(message.ref)[2]!.message.text).toContain('needs no other view');
    expect(await open()).toEqual([]);
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

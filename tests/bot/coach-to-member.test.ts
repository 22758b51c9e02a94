/** What a coach has the bot say to a member: filming that is not usable, and another view. */
import { describe, expect, it } from 'vitest';
import { rules } from '../../src/rules/index.ts';
import { languages } from '../../src/wording/index.ts';
import { card, post, press, scene, send, shows, stateOf, textOf } from './coach-scene.ts';
import { until } from './setup.ts';

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

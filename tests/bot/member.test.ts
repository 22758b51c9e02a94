import { existsSync, readFileSync, rmSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ActionReply } from '../../src/platforms/port.ts';
import { createScene, until } from './setup.ts';

let scene: Awaited<ReturnType<typeof createScene>>;
beforeEach(async () => {
  scene = await createScene();
});
afterEach(() => scene.close());

function messageOf(reply: ActionReply) {
  if (reply.kind !== 'private') throw new Error(`no private answer but ${reply.kind}`);
  return reply.message;
}

describe('how to film a lift', () => {
  const film = async (lift: string, by = 'juno') =>
    messageOf(await scene.world.act({ kind: 'command', id: 'film', values: { lift } }, by));
  const cautions = [/safeties and spotter arms/, /stop if something hurts/i, /no coaching and no medical advice/, /your gym/];

  it.each([
    ['squat', 'behind either shoulder', '2.5–4 m'],
    ['bench', 'past either foot', '2–3.5 m'],
    ['press', 'square to either side', '2.5–4.5 m'],
    ['deadlift', 'in front of either shoulder', '2.5–4 m'],
  ])('tells place, distance, height, what must be seen and the cautions for %s', async (lift, place, distance) => {
    await scene.startBot();
    const { text, files } = await film(lift);
    for (const part of [
      /^\*\*How to film the /,
      place,
      distance,
      /\*\*Height:\*\* .* m \(/,
      /tripod/,
      /In the picture all the time/,
    ])
      expect(text).toMatch(part);
    for (const caution of cautions) expect(text).toMatch(caution);
    expect(text).toMatch(/Trim/);
    expect(files).toEqual([expect.objectContaining({ name: `film-${lift}.png`, alt: expect.stringContaining(lift) })]);
    expect(readFileSync(files[0]!.path).length).toBeGreaterThan(0);
    expect(scene.errors).toEqual([]);
  });

  it('asks which lift when none was named, and takes the choice', async () => {
    await scene.startBot();
    const { choices } = messageOf(await scene.world.act({ kind: 'command', id: 'film' }));
    expect(choices[0]!.options.map(({ value }) => value)).toEqual(['squat', 'bench', 'press', 'deadlift']);
    const chosen = await scene.world.act({ kind: 'choice', id: choices[0]!.id, values: { [choices[0]!.id]: 'press' } });
    expect(messageOf(chosen).text).toContain('How to film the press');
    const unknown = await scene.world.act({ kind: 'choice', id: 'film', values: { film: '../../etc' } });
    expect(messageOf(unknown).choices).toHaveLength(1);
  });

  it("says what the coach asked this member for, with that view, and nobody else's", async () => {
    await scene.startBot();
    const by = { byId: 'ilse', byName: 'Ilse', platform: 'room', memberId: 'juno' };
    const wish = { ...by, id: 'a', lift: 'squat', view: 'front', note: 'Let me see the knees.', clipsLeft: 3, untilMs: null };
    await scene.ledger.requests.add(wish, scene.clock.nowMs);
    const untilMs = Date.UTC(2001, 0, 31, 12);
    await scene.ledger.requests.add({ ...wish, id: 'b', lift: 'bench', view: 'side', note: '', clipsLeft: null, untilMs }, 1);
    const { text, files } = await film('squat');
    expect(text).toContain(
      'asked to see this lift** from straight in front (for your next 3 clips). Ilse says: Let me see the knees.',
    );
    expect(text).toContain('asked to see your bench press** square from the side (until 2001-01-31).');
    expect(text).toContain('Best: straight in front of you.');
    expect(text).not.toContain('Left or right');
    expect(files[0]!.alt).toContain('from 0');
    expect((await film('squat', 'tamsin')).text).not.toContain('asked');
    scene.clock.nowMs = untilMs;
    expect((await film('squat')).text).not.toContain('bench press');
  });

  it('goes without the picture when the disk is full', async () => {
    await scene.startBot();
    const { folder } = scene;
    rmSync(folder, { recursive: true });
    const { text, files } = await film('squat');
    expect(text).toContain('How to film the squat');
    expect(files).toEqual([]);
    expect(scene.errors).toEqual([expect.stringContaining('a guide could not be drawn')]);
    expect(existsSync(folder)).toBe(false);
  });
});

const answered = async (n: number) => until(async () => (await scene.ledger.inState(['answered'])).length === n);

/** Posts a clip and waits for its answer. */
async function post(what: string, by = 'juno') {
  const before = (await scene.ledger.inState(['answered'])).length;
  const message = await scene.world.say([what], { by });
  await answered(before + 1);
  const [reply] = scene.world.replies(message.ref);
  const button = (verb: string) => reply!.message.buttons.find(({ id }) => id.startsWith(`${verb}:`))?.id ?? '';
  const id = (button('appeal') || 'appeal:').slice('appeal:'.length);
  return { message, reply: reply!, button, id };
}
const press = async (id: string, by = 'juno') => scene.world.act({ kind: 'button', id }, by);
const send = async (id: string, values: Record<string, string>, by = 'juno') =>
  messageOf(await scene.world.act({ kind: 'form', id, values }, by)).text;
const cards = () => scene.world.inChannel('coaches').map(({ message }) => message);

describe('cautions', () => {
  it('are said once to each member, with the first judgement', async () => {
    await scene.startBot();
    const bad = await scene.world.say(['bad']);
    await answered(1);
    expect(scene.world.replies(bad.ref)[0]!.message.text).toBe('error clip-not-video');
    await scene.world.say(['clean', 'clean', 'clean']);
    await answered(4);
    const first = await post('clean', 'tamsin');
    await post('fix');
    const said = scene.world.posts.filter(({ message }) => / first\b/.test(message.text));
    expect(said).toHaveLength(2);
    expect(said).toContain(first.reply);
    await scene.startBot();
    expect((await post('fix')).reply.message.text).toBe('reply fix');
  });
});

describe('the reply to a clip that was sent back', () => {
  it.each([
    ['clean', []],
    ['unsure', []],
    ['trim', []],
    ['bad', []],
    ['fix', ['My coach asked for this view', 'Send it to a coach anyway']],
    ['turned', ['Use the trimmed clip', 'My coach asked for this view', 'Send it to a coach anyway']],
    ['dark', ['Send it to a coach anyway']],
  ])('%s has the buttons that help', async (what, labels) => {
    await scene.startBot();
    const { reply } = await post(what);
    expect(reply.message.buttons.map(({ label }) => label)).toEqual(labels);
  });

  it('has no button for what the settings rule out', async () => {
    Object.assign(scene.settings, { appealsPerWeek: 0, askedViewsPerWeek: 0 });
    await scene.startBot();
    expect((await post('fix')).reply.message.buttons).toEqual([]);
  });

  it('has none when an id would be too long for a button, and is posted all the same', async () => {
    await scene.startBot();
    const message = await scene.world.say(['fix'], { channel: 'form-check' });
    await answered(1);
    const long = { ...message, ref: { ...message.ref, message: 'm'.repeat(95) } };
    await scene.world.tell(long);
    await answered(2);
    expect(scene.world.replies(long.ref)[0]!.message.buttons).toEqual([]);
  });
});

describe('the trimmed clip', () => {
  it('goes to the coaches, is marked clean, and the reply loses its buttons', async () => {
    await scene.startBot();
    const { message, reply, button } = await post('turned');
    expect(scene.world.marks.get(message.ref.message)).toEqual(['fix']);
    expect(cards()).toEqual([]);
    const twice = await Promise.all([press(button('use-cut')), press(button('use-cut'))]);
    expect(twice.map((one) => messageOf(one).text).sort()).toEqual([
      'Thank you. The clip goes to the coaches now.',
      'This clip is with the coaches already.',
    ]);
    await until(() => cards().length === 1);
    await answered(1);
    const said = cards()[0]!.text.split('\n');
    expect(said[0]).toBe(`card fix juno from 2 room:${message.ref.message}`);
    expect(said.at(-1)).toBe(
      'The member took my cut of the clip. I had sent it back for: which way up it plays and waiting before and after the lift.',
    );
    expect(cards()[0]!.files.map(({ name }) => name)).toContain('trimmed.mp4');
    expect(scene.world.marks.get(message.ref.message)).toEqual(['clean']);
    expect(reply.edits).toEqual(['reply fix first\nSent on to the coaches as you wished.']);
    expect(await scene.ledger.evidence.since(0)).toEqual([]);
    expect(scene.world.replies(message.ref)).toHaveLength(1);
    expect(messageOf(await press(button('appeal'))).text).toContain('with the coaches already');
    expect(scene.errors).toEqual([]);
  });

  it('is not sent on where it cures nothing', async () => {
    await scene.startBot();
    const { id } = await post('dark');
    expect(messageOf(await press(`use-cut:${id}`)).text).toContain('not enough');
    expect(messageOf(await press(`asked-view:${id}`)).text).toContain('not about where the phone stood');
    expect(await scene.ledger.desk.entry(id)).toBe(null);
  });
});

describe('a view that a coach asked for', () => {
  it('goes to the coaches, marked so, and counts', async () => {
    scene.settings.askedViewsPerWeek = 1;
    await scene.startBot();
    const { message, button, id } = await post('fix');
    expect(messageOf(await press(button('asked-view'))).text).toContain('goes to the coaches');
    await until(() => cards().length === 1);
    await answered(1);
    expect(cards()[0]!.text).toContain(
      '**The member says that a coach asked for this view.** I had sent it back for: where the phone stands.',
    );
    expect(scene.world.marks.get(message.ref.message)).toEqual(['unsure']);
    expect(await scene.ledger.evidence.of(id)).toEqual([
      expect.objectContaining({ kind: 'asked-view', rule: 'view', byId: 'juno', byName: 'juno' }),
    ]);
    const second = await post('fix');
    expect(messageOf(await press(second.button('asked-view'))).text).toContain('said once in the last seven days');
    expect(cards()).toHaveLength(1);
  });
});

describe('an appeal', () => {
  const reason = 'My left side is hurt, so I turned.';

  it('asks for a reason and goes to the coaches with it, once', async () => {
    await scene.startBot();
    const { message, button, id } = await post('fix');
    const form = await press(button('appeal'));
    if (form.kind !== 'form') throw new Error(form.kind);
    expect(form.form.fields.map((field) => field.id)).toEqual(['reason']);
    for (const { label } of form.form.fields) expect(label.length).toBeLessThanOrEqual(45);
    expect(await scene.ledger.desk.entry(id)).toBe(null);
    expect(await send(form.form.id, { reason: '  ' })).toContain('Please say in a sentence');
    const said = await Promise.all([send(form.form.id, { reason }), send(form.form.id, { reason }), press(button('asked-view'))]);
    expect(said.slice(0, 2).filter((text) => String(text).includes('goes to the coaches')).length).toBeLessThanOrEqual(1);
    await until(() => cards().length === 1);
    await answered(1);
    expect(await scene.ledger.evidence.of(id)).toHaveLength(1);
    expect(scene.world.marks.get(message.ref.message)).toEqual(['unsure']);
    expect(cards()).toHaveLength(1);
  });

  it('puts the reason and what was sent back on the card, and keeps which rule the member means', async () => {
    await scene.startBot();
    const { button, id } = await post('dark');
    const form = await press(button('appeal'));
    if (form.kind !== 'form') throw new Error(form.kind);
    const which = form.form.fields[0]!;
    expect(which.kind === 'choice' && which.options).toEqual([
      { value: 'light', label: 'the light' },
      { value: 'orientation', label: 'which way up it plays' },
      { value: 'all', label: 'All of them' },
    ]);
    await send(form.form.id, { reason, rule: 'light' });
    await until(() => cards().length === 1);
    expect(cards()[0]!.text).toContain(
      `**The member sent this on.** I had sent it back for: the light and which way up it plays. The reason: ${reason}`,
    );
    expect(await scene.ledger.evidence.of(id)).toEqual([expect.objectContaining({ kind: 'appeal', rule: 'light', reason })]);
    const all = await post('dark');
    await send(`appeal:${all.id}`, { reason, rule: 'no-such' });
    expect((await scene.ledger.evidence.of(all.id))[0]).toMatchObject({ rule: null });
  });

  it('is refused kindly when the week is used up, before the form and at sending, until seven days have gone', async () => {
    scene.settings.appealsPerWeek = 2;
    await scene.startBot();
    const clips = [await post('fix'), await post('fix'), await post('fix'), await post('fix', 'tamsin')];
    const said = await Promise.all(clips.slice(0, 3).map(({ button }) => send(button('appeal'), { reason })));
    expect(said.filter((text) => text.includes('goes to the coaches'))).toHaveLength(2);
    expect(said.filter((text) => text.includes('sent on 2 clips in the last seven days'))).toHaveLength(1);
    const left = clips[said.findIndex((text) => text.includes('seven days'))]!;
    expect(messageOf(await press(left.button('appeal'))).text).toContain('ask a coach in person');
    expect(await send(clips[3]!.button('appeal'), { reason }, 'tamsin')).toContain('goes to the coaches');
    scene.clock.nowMs += 7 * 24 * 3_600_000;
    expect(await send(left.button('appeal'), { reason })).toMatch(/goes to the coaches|this one is gone/);
  });

  it("is for one's own clips that were sent back, are known and still there", async () => {
    await scene.startBot();
    const { button, id } = await post('fix');
    const clean = await post('clean');
    const [cleanId] = (await scene.ledger.inState(['answered'])).filter((one) => one !== id);
    expect(messageOf(await press(button('appeal'), 'tamsin')).text).toContain('Only the person who posted');
    expect(messageOf(await press('appeal:no-such')).text).toContain('do not know this clip');
    expect(messageOf(await press('appeal')).text).toContain('do not know this clip');
    expect(messageOf(await press(`appeal:${cleanId}`)).text).toContain('with the coaches already');
    expect(clean.reply.message.buttons).toEqual([]);
    await scene.ledger.forgetFiles(id, scene.clock.nowMs);
    expect(messageOf(await press(button('appeal'))).text).toContain('this one is gone');
    expect(await scene.ledger.evidence.since(0)).toEqual([]);
  });

  it('that a coach could use is kept as such, once', async () => {
    await scene.startBot();
    const { button, id } = await post('fix');
    await send(button('appeal'), { reason });
    const coach = (verb: string) => scene.world.act({ kind: 'button', id: `${verb}:${id}` }, 'ilse', ['coach']);
    await until(async () => (await scene.ledger.desk.entry(id)) !== null && cards().length === 1);
    await coach('take');
    await Promise.all([coach('done'), coach('done')]);
    expect((await scene.ledger.evidence.of(id)).slice(1)).toEqual([
      expect.objectContaining({ kind: 'accepted', rule: 'view', byId: 'ilse' }),
    ]);
  });
});

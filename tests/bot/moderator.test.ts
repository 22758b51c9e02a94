import { readFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { NewEvidence } from '../../src/ledger/port.ts';
import type { Action, ActionReply } from '../../src/platforms/port.ts';
import { createScene, until } from './setup.ts';
import { keepSquat, overruled } from './stored-clip.ts';

let scene: Awaited<ReturnType<typeof createScene>>;
const dayMs = 24 * 3_600_000;
/** Monday, 23 November 2026, 08:00 UTC. */
const mondayMs = Date.UTC(2026, 10, 23, 8);

beforeEach(async () => {
  scene = await createScene();
  scene.clock.nowMs = mondayMs;
});
afterEach(async () => {
  expect(scene.errors).toEqual([]);
  await scene.close();
});

function messageOf(reply: ActionReply) {
  if (reply.kind !== 'private') throw new Error(`no private answer but ${reply.kind}`);
  return reply.message;
}
function formOf(reply: ActionReply) {
  if (reply.kind !== 'form') throw new Error(`no form but ${JSON.stringify(reply)}`);
  return reply.form;
}
const act = (kind: Action['kind'], id: string, values: Record<string, string> = {}, more: Partial<Action> = {}) =>
  scene.world.act({ kind, id, values, ...more }, 'wren', ['moderator']);
const said = async (...given: Parameters<typeof act>) => messageOf(await act(...given));
/** Presses what opens a form, and sends it. */
async function sent(id: string, values: Record<string, string>) {
  const form = formOf(await act('button', id));
  expect(Object.keys(values).every((name) => form.fields.some((field) => field.id === name))).toBe(true);
  return said('form', form.id, values);
}

const stored = (id: string, deg: number, evidence: Partial<NewEvidence>[] = [], atMs = mondayMs - dayMs) =>
  keepSquat(scene.ledger, id, deg, { evidence, atMs });
const behind = '[{ fromDeg: 112.5, toDeg: 180, aimDeg: 135 }]';
const toBehind = { lift: 'squat', option: 'zones', value: behind };
const newest = async () => (await scene.ledger.rules.newest())!;
/** What the last proposal's button says. */
async function proposed(values: Record<string, string> = toBehind, rule = 'view') {
  const message = await sent(`rule-change:${rule}`, values);
  return { ...message, apply: message.buttons.find(({ id }) => id.startsWith('rules-apply:'))?.id ?? '' };
}

describe('the rules', () => {
  it('are listed with what they do, their options and the share of clips that each stops', async () => {
    for (const [i, deg] of [135, 135, 180, 0].entries()) await stored(`c${i}`, deg);
    await scene.startBot();
    const { text, choices, buttons } = await said('command', 'rules');
    expect(text).toMatch(/^\*\*Rules for all lifts\*\*, version 1 by config\/rules\.yaml, 23 Nov 2026, 08:00 UTC\./);
    expect(text).toContain('the last 4 clips');
    expect(text).toContain(
      '**view** (where the phone stands) · sends back · stops 50 %\n  zones differs by lift, fixAt 0.9, adviseAt 0.7',
    );
    expect(text).toContain("**lifter-size** (the lifter's size in the picture)");
    expect(text).toContain('fixBelow differs by lift');
    expect(choices[0]?.options).toHaveLength(23);
    const usual = ['rules-suggest', 'rules-paste', 'rules-save', 'rules-history'];
    expect(
      buttons.map(({ id }) => id),
      'nothing to undo',
    ).toEqual(usual);
    const press = await said('command', 'rules', { lift: 'press' });
    expect(press.text).toContain('0 clips of this lift among the last 4');
    expect(press.text).toContain('fixBelow 0.22');
    await sent((await proposed()).apply, { reason: 'why' });
    expect((await said('command', 'rules')).buttons.map(({ id }) => id)).toEqual([...usual, 'rules-undo:2']);
  });

  it('are shown one by one, with all options for each lift', async () => {
    for (let i = 0; i < 5; i += 1) await stored(`c${i}`, 180, overruled);
    await scene.startBot();
    const { text, buttons } = await said('choice', 'rule', { rule: 'view' });
    expect(text).toContain('**squat**: sends back · stops 5 of 5 clips, advice to 0');
    expect(text).toContain('zones [{ fromDeg: 112.5, toDeg: 157.5, aimDeg: 135 }]');
    expect(text).toContain('Of 5 clips that it stops, 5 were appealed or used all the same (5 by a coach');
    expect(buttons[0]?.id).toBe('rule-change:view');
    expect((await said('choice', 'rule', { rule: '../view' })).text).toMatch(/no such rule/);
    expect((await said('button', 'rule-change:nothing')).text).toMatch(/no such rule/);
  });
});

describe('a change', () => {
  it('is shown with what it would do before it counts, and applied with a reason, told to the moderators', async () => {
    await stored('c1', 180, overruled);
    await stored('c2', 135);
    await stored('c3', 0, [{ kind: 'appeal' }, { kind: 'unusable' }]);
    await scene.startBot();
    const { text, apply, buttons } = await proposed();
    expect(text).toContain('**What would change** from version 1:');
    expect(text).toContain(
      `**view** (where the phone stands), squat: zones [{ fromDeg: 112.5, toDeg: 157.5, aimDeg: 135 }] → ${behind}`,
    );
    expect(text).toContain('**1 clip: sent back → clean**\n· Juno, squat, 22 Nov room:c1');
    expect(text).toContain(
      '(all by coaches). The rules are right about 1 of these now, and would be about 2: 1 put right, 0 made wrong.',
    );
    expect(buttons.map(({ label }) => label)).toEqual(['Apply', 'Drop it']);
    expect((await newest()).version).toBe(1);
    expect((await sent(apply, { reason: 'Straight behind\nis fine here.' })).text).toContain('version 2 is in force');
    expect(await newest()).toMatchObject({
      version: 2,
      author: 'wren',
      authorId: 'room/wren',
      reason: 'Straight behind is fine here.',
    });
    await until(() => scene.world.inChannel('moderators').length === 1);
    const [told] = scene.world.inChannel('moderators');
    expect(told?.message.text).toContain('**wren changed the rules**: Straight behind is fine here.');
    expect(told?.message.buttons).toEqual([{ id: 'rules-undo:2', label: 'Undo this change', style: 'plain' }]);
    expect((await said('command', 'rules', { lift: 'squat' })).text).toContain('version 2 by wren');
    expect((await scene.ledger.audit.last(20)).map(({ act: one, allowed }) => [one, allowed])).toContainEqual([
      'rules-apply',
      true,
    ]);
  });

  it('keeps what it proposes over a restart, and is done once', async () => {
    const first = await scene.startBot();
    const { apply } = await proposed();
    await first.stop(0);
    await scene.startBot();
    const form = formOf(await act('button', apply));
    const twice = await Promise.all([1, 2].map(() => said('form', form.id, { reason: 'why' }, { pressId: 'the same' })));
    expect(twice.map(({ text }) => text)).toEqual([expect.stringContaining('version 2'), expect.stringContaining('version 2')]);
    expect((await said('form', form.id, { reason: 'why' })).text).toMatch(/applied or dropped already/);
    expect((await newest()).version).toBe(2);
  });

  it('is refused when the rules have changed since, also when two apply at once', async () => {
    await scene.startBot();
    const [one, other] = [await proposed(), await proposed({ lift: 'all', severity: 'advise' })];
    const forms = await Promise.all([one, other].map(async ({ apply }) => formOf(await act('button', apply)).id));
    const ends = await Promise.all(forms.map((id) => said('form', id, { reason: 'why' })));
    expect(ends.filter(({ text }) => text.includes('is in force'))).toHaveLength(1);
    expect(
      ends.filter(({ text }) => text.includes('The rules have changed since this was proposed (version 2 by wren)')),
    ).toHaveLength(1);
    expect((await newest()).version).toBe(2);
  });

  it('needs a reason, and can be dropped', async () => {
    await scene.startBot();
    const { apply, buttons } = await proposed();
    expect((await sent(apply, { reason: '  ' })).text).toMatch(/say why/);
    expect((await said('button', buttons[1]!.id)).text).toMatch(/^Dropped/);
    expect((await said('button', buttons[1]!.id)).text).toMatch(/already/);
    expect((await said('button', apply)).text).toMatch(/already/);
    expect((await said('button', 'rules-apply:nobody')).text).toMatch(/already/);
  });

  it.each([
    [{ lift: 'squat' }, /Nothing to change was chosen/],
    [{ lift: 'snatch', severity: 'off' }, /Nothing to change was chosen/],
    [{ lift: 'all', severity: 'fix' }, /say that already/],
    [{ lift: 'all', option: 'fixAt', value: '7' }, /view\.options\.fixAt: .* at most 1/],
    [{ lift: 'all', option: 'fixAt', value: '[1, 2' }, /view\.options\.fixAt: this is no value/],
    [{ lift: 'all', option: 'fixAtt', value: '0.5' }, /Did you mean "fixAt"/],
    [{ lift: 'all', severity: 'often' }, /Use one of: off, advise, fix/],
  ])('says what is wrong with %o', async (values, expected) => {
    await scene.startBot();
    const { text, buttons } = await sent('rule-change:view', values);
    expect(text).toMatch(expected);
    expect(buttons).toEqual([]);
  });

  it('may change what a rule does and one of its numbers at once, and take a number back', async () => {
    await scene.startBot();
    const { text, apply } = await proposed({ lift: 'all', severity: 'advise', option: 'fixAt', value: '0.8' });
    expect(text).toContain('all lifts: sends back → advice only');
    expect(text).toContain('all lifts: fixAt 0.9 → 0.8');
    await sent(apply, { reason: 'why' });
    expect((await proposed({ lift: 'all', option: 'fixAt', value: '' })).text).toContain('fixAt 0.8 → 0.9');
  });
});

describe('undo and history', () => {
  const changed = async (values: Record<string, string>, reason: string) => sent((await proposed(values)).apply, { reason });

  it('goes back to the version before, as a new one, once', async () => {
    await scene.startBot();
    await changed({ lift: 'all', severity: 'advise' }, 'too strict');
    await changed({ lift: 'all', severity: 'off' }, 'still too strict');
    const form = formOf(await act('button', 'rules-undo:3'));
    const both = await Promise.all([said('form', form.id, { reason: 'not so' }), said('form', form.id, { reason: 'not so' })]);
    expect(both.filter(({ text }) => text.includes('as version 4'))).toHaveLength(1);
    expect(both.filter(({ text }) => text.includes('the rules have changed since'))).toHaveLength(1);
    expect(await newest()).toMatchObject({ version: 4, reason: 'version 3 undone. not so' });
    expect((await said('choice', 'rule', { rule: 'view' })).text).toContain('**All lifts**: advice only');
    expect((await said('button', 'rules-undo:3')).text).toMatch(/have changed since/);
  });

  it('undoes the change that the button names and no other, also when another one came between form and answer', async () => {
    await scene.startBot();
    await changed({ lift: 'all', severity: 'advise' }, 'too strict');
    formOf(await act('button', 'rules-undo:2'));
    await changed({ lift: 'all', severity: 'off' }, 'still too strict');
    const { yaml } = await newest();
    for (const kind of ['button', 'form'] as const) {
      const { text, buttons } = await said(kind, 'rules-undo:2', { reason: 'why' });
      expect(text).toContain('I undid nothing: the rules have changed since. Version 3 by wren is in force now');
      expect(buttons.map(({ id }) => id)).toEqual(['rules-history']);
    }
    expect(await newest()).toMatchObject({ version: 3, yaml });
    // Of two who undo at once, one does.
    const both = await Promise.all(['a', 'b'].map((reason) => said('form', 'rules-undo:3', { reason })));
    expect(both.map(({ text }) => text.slice(0, 5)).sort()).toEqual(['Done:', 'I und']);
    expect(await scene.ledger.rules.history(9)).toHaveLength(4);
    expect((await said('button', 'rules-undo:nothing')).text).toContain('I undid nothing');
  });

  it('does not go back to rules that this program cannot read', async () => {
    await scene.startBot();
    const someone = { name: 'Wren', id: 'room/wren', reason: 'why' };
    await scene.ledger.rules.add('no-such-rule: { severity: off }', 1, someone, 1);
    await scene.ledger.rules.add('', 2, someone, 2);
    const { text } = await said('form', 'rules-undo:3', { reason: 'why' });
    expect(text).toContain('cannot be used, and nothing was changed');
    expect((await newest()).version).toBe(3);
  });

  it('says that there is nothing before the first', async () => {
    await scene.startBot();
    expect((await said('button', 'rules-undo:1')).text).toMatch(/no earlier version/);
  });

  it('lists who changed what when and why, and shows what going back to one would do', async () => {
    await stored('c1', 180);
    await scene.startBot();
    await changed({ lift: 'all', severity: 'advise' }, 'too strict');
    scene.clock.nowMs += dayMs;
    await changed({ lift: 'all', severity: 'off' }, 'still too strict');
    const { text, choices } = await said('button', 'rules-history');
    expect(text).toContain(
      '**3** wren, 24 Nov 2026, 08:00 UTC: still too strict\n· **view** (where the phone stands), all lifts: advice only → not looked at',
    );
    expect(text).toContain('**2** wren, 23 Nov 2026, 08:00 UTC: too strict');
    expect(choices[0]?.options.map(({ value }) => value)).toEqual(['2', '1']);
    const back = await said('choice', 'rules-back', { 'rules-back': '1' });
    expect(back.text).toContain('**1 clip: clean → sent back**');
    await sent(back.buttons[0]!.id, { reason: 'as it was' });
    expect(await newest()).toMatchObject({ version: 4, yaml: '' });
    expect((await said('choice', 'rules-back', { 'rules-back': '99' })).text).toMatch(/no such version/);
  });
});

describe('rules as a file', () => {
  it('are given as YAML that can be pasted back', async () => {
    await scene.startBot();
    await sent((await proposed()).apply, { reason: 'why' });
    const { files } = await said('button', 'rules-save');
    const yaml = readFileSync(files[0]!.path, 'utf8');
    expect(files[0]?.name).toBe('rules-2.yaml');
    expect(yaml).toBe((await newest()).yaml);
    expect((await sent('rules-paste', { how: 'whole', text: yaml })).text).toMatch(/say that already/);
  });

  it('are taken whole or in part, and faults are named with what may be meant', async () => {
    await scene.startBot();
    await sent((await proposed({ lift: 'all', severity: 'advise' })).apply, { reason: 'why' });
    const part = await sent('rules-paste', { how: 'part', text: 'light: { severity: off }' });
    expect(part.text).toContain('**light** (the light), all lifts: sends back → not looked at');
    expect(part.text).not.toContain('**view**');
    const whole = await sent('rules-paste', { how: 'whole', text: 'light: { severity: off }' });
    expect(whole.text).toContain('**view** (where the phone stands), all lifts: advice only → sends back');
    const wrong = await sent('rules-paste', { how: 'part', text: 'viw: { severity: off }\nlight:\n  severity: of\n' });
    expect(wrong.text).toContain('viw: unknown name "viw". Did you mean "view"?');
    expect(wrong.text).toContain('light.severity: ');
    expect((await sent('rules-paste', { how: 'part', text: 'light: [' })).text).toMatch(
      /line 2.*Mend the YAML there|line 1.*Mend the YAML there/,
    );
    expect((await sent('rules-paste', { how: 'part', text: 'only words' })).text).toMatch(/cannot be used/);
    expect((await newest()).version).toBe(2);
  });
});

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

describe('who may', () => {
  const acts: [Action['kind'], string][] = [
    ['command', 'rules'],
    ['command', 'report'],
    ['choice', 'rule'],
    ['choice', 'rules-back'],
    ['choice', 'rules-try'],
    ...[
      'rule-change:view',
      'rules-paste',
      'rules-save',
      'rules-history',
      'rules-suggest',
      'rules-undo:1',
      'rules-apply:x',
      'rules-drop:x',
    ].map((id) => ['button', id] as [Action['kind'], string]),
  ];
  it.each(acts)('%s %s: moderators alone', async (kind, id) => {
    await scene.startBot();
    for (const groups of [[], ['coach']]) {
      const reply = messageOf(await scene.world.act({ kind, id }, 'odo', groups));
      expect(reply.text).toMatch(/^Only moderators/);
    }
    expect((await scene.ledger.audit.last(9)).map(({ personId, allowed }) => [personId, allowed])).toEqual([
      ['odo', false],
      ['odo', false],
    ]);
    const allowed = await act(kind, id);
    expect(allowed.kind === 'form' || !messageOf(allowed).text.startsWith('Only')).toBe(true);
  });
});

it('a clip notes the rules that it was judged by, though they change meanwhile', async () => {
  await scene.startBot({
    platform: (p) => p,
    // Just after the judgement, before it is kept, a moderator's change comes in force.
    ledger: (l) => ({
      ...l,
      requests: {
        ...l.requests,
        async openOf(...given) {
          await sent((await proposed()).apply, { reason: 'meanwhile' });
          return l.requests.openOf(...given);
        },
      },
    }),
  });
  const message = await scene.world.say(['clean'], { sentAtMs: mondayMs });
  await until(() => scene.world.replies(message.ref).length > 0);
  const [s] = await scene.ledger.inLane(`room/form-check/${message.ref.message}`);
  expect(s?.rulesVersion).toBe(1);
  expect((await newest()).version).toBe(2);
});

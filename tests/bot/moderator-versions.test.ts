/** Versions of the rules: undo, history, and rules as a file. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { act, dayMs, formOf, newest, proposed, said, scene, sent, stored } from './moderator-scene.ts';

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

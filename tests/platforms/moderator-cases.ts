/** What moderators can do, through each platform; run by desk-contract.ts. The moderators' channel is the coaches' here. */
import { expect } from 'vitest';
import type { Button, Choice } from '../../src/platforms/port.ts';
import { plainMessage, type SeenReply, until } from './contract.ts';
import type { DeskCases, DeskScene } from './desk-contract.ts';

const textOf = (seen: SeenReply) => (seen.kind === 'private' ? seen.text : seen.kind);
const { signal } = new AbortController();
let made = 0;

/** A post that all can see with what private answers carry, since the worlds press on posts only. */
function carrier({ world }: DeskScene, more: { buttons?: string[]; choices?: Choice[] }) {
  const buttons = (more.buttons ?? []).map((id): Button => ({ id, label: id, style: 'plain' }));
  const message = plainMessage('carrier', { buttons, choices: more.choices ?? [] });
  made += 1;
  return world.platform.post({ channel: world.coachChannel, message: null }, message, `carrier/${made}`, signal);
}

export const moderatorCases: DeskCases = {
  'a moderator sees the rules, and one of them': async (on) => {
    const { world, post } = on;
    await post('clean');
    const text = textOf(await world.command(world.coachChannel, 'rules', { lift: 'squat' }));
    expect(text).toContain('Rules for squat');
    for (const rule of ['lifter-present', 'view', 'picture-shape']) expect(text).toContain(rule);
    const choice = { id: 'rule', label: 'Look at a rule', options: [{ value: 'view', label: 'view' }] };
    const one = textOf(await world.choose(await carrier(on, { choices: [choice] }), 'rule', 'view'));
    expect(one).toContain('fromDeg: 112.5');
    expect(one).toContain('bench press');
  },

  'a moderator proposes a change and sees what it would do': async (on) => {
    const { world, scene } = on;
    const where = await carrier(on, { buttons: ['rule-change:view', 'rules-paste', 'rules-save'] });
    const form = await world.press(where, 'rule-change:view');
    expect(form.kind === 'form' && form.fields.map(({ id }) => id)).toEqual(['lift', 'severity', 'option', 'value']);
    const values = { lift: 'squat', severity: 'advise', option: 'fixAt', value: '0.8' };
    const effect = textOf(await world.submit('rule-change:view', values));
    expect(effect).toContain('fixAt 0.9 → 0.8');
    expect(effect).toContain('sends back → advice only');
    expect(effect).toContain('No clips are kept yet');
    expect(await world.press(where, 'rules-paste')).toMatchObject({ kind: 'form', id: 'rules-paste' });
    const wrong = textOf(await world.submit('rules-paste', { how: 'part', text: 'light:\n  severity: off\nviw: {}' }));
    expect(wrong).toContain('Did you mean "view"?');
    expect(textOf(await world.press(where, 'rules-save'))).toContain('The rules, version 1.');
    expect((await scene.ledger.rules.newest())?.version).toBe(1);
  },

  'a moderator applies a change, all are told, and it is undone': async (on) => {
    const { world, scene } = on;
    const { name: platform } = world.platform;
    const by = { platform, byId: world.member.id, byName: world.member.name };
    await scene.ledger.rules.propose({ id: 'p', base: 1, yaml: 'view: { severity: advise }', ...by }, 1);
    const where = await carrier(on, { buttons: ['rules-apply:p'] });
    expect(await world.press(where, 'rules-apply:p')).toMatchObject({ kind: 'form', fields: [{ id: 'reason', required: true }] });
    expect(textOf(await world.submit('rules-apply:p', { reason: '@everyone *too* strict' }))).toContain('version 2 is in force');
    const told = await until('the word', async () =>
      (await world.seen(world.coachChannel)).find(({ text }) => text.includes('changed the rules')),
    );
    expect(told.text).toContain('@everyone *too* strict');
    expect(told.pings).toEqual([]);
    expect(told.buttons.map(({ id }) => id)).toEqual(['rules-undo:2']);
    expect(await world.press(told.ref, 'rules-undo:2')).toMatchObject({ kind: 'form', id: 'rules-undo:2' });
    expect(textOf(await world.submit('rules-undo:2', { reason: 'not so' }))).toContain('as version 3');
    expect(textOf(await world.press(told.ref, 'rules-undo:2'))).toContain('have changed since');
    expect(await scene.ledger.rules.newest()).toMatchObject({ version: 3, yaml: '', authorId: `${platform}/${world.member.id}` });
  },

  'a moderator reads the week and looks for suggestions': async (on) => {
    const { world, post } = on;
    expect(textOf(await world.command(world.coachChannel, 'report', {}))).toContain('No clips were judged');
    await post('fix');
    expect(textOf(await world.command(world.coachChannel, 'report', {}))).toContain('0 clean, 0 unsure, 1 sent back');
    const where = await carrier(on, { buttons: ['rules-suggest', 'rules-history'] });
    expect(textOf(await world.press(where, 'rules-suggest'))).toContain('Nothing to suggest');
    expect(textOf(await world.press(where, 'rules-history'))).toContain('config/rules.yaml');
  },
};

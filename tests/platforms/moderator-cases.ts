/** What moderators can do, through each platform; run by desk-contract.ts. The moderators' channel is the coaches' here. */
import { expect } from 'vitest';
import { keepSquat, overruled } from '../bot/stored-clip.ts';
import type { DeskCases, DeskScene } from './desk-contract.ts';
import { type SeenReply, until } from './platform-world.ts';

const textOf = (seen: SeenReply) => (seen.kind === 'private' ? seen.text : seen.kind);

/** Asks for the rules; what follows is pressed in the answer. */
const askForRules = async ({ world }: DeskScene) => textOf(await world.command(world.coachChannel, 'rules', {}));
/** Id of the button in the newest answer that begins so. */
const offered = ({ world }: DeskScene, start: string) =>
  world.answer.offers().buttons.find(({ id }) => id.startsWith(start))?.id ?? `no ${start}`;
/** Proposes one thing about where the phone stands; what the moderator is shown. */
async function propose(on: DeskScene, values: Record<string, string>): Promise<string> {
  const { world } = on;
  await askForRules(on);
  await world.answer.choose('rule', 'view');
  expect(await world.answer.press('rule-change:view')).toMatchObject({ kind: 'form', id: 'rule-change:view' });
  return textOf(await world.submit('rule-change:view', { lift: 'all', ...values }));
}
/** Applies what was proposed last. */
async function apply(on: DeskScene, reason: string): Promise<string> {
  const id = offered(on, 'rules-apply:');
  expect(await on.world.answer.press(id)).toMatchObject({ kind: 'form', fields: [{ id: 'reason', required: true }] });
  return textOf(await on.world.submit(id, { reason }));
}

export const moderatorCases: DeskCases = {
  'a moderator sees the rules, and one of them': async (on) => {
    const { world, post } = on;
    await post('clean');
    const text = textOf(await world.command(world.coachChannel, 'rules', { lift: 'squat' }));
    expect(text).toContain('Rules for squat');
    for (const rule of ['lifter-present', 'view', 'picture-shape']) expect(text).toContain(rule);
    const one = textOf(await world.answer.choose('rule', 'view'));
    expect(one).toContain('fromDeg: 112.5');
    expect(one).toContain('bench press');
  },

  'a moderator proposes a change, sees what it would do, and drops it': async (on) => {
    const { world, scene } = on;
    const effect = await propose(on, { lift: 'squat', severity: 'advise', option: 'fixAt', value: '0.8' });
    expect(effect).toContain('fixAt 0.9 → 0.8');
    expect(effect).toContain('sends back → advice only');
    expect(effect).toContain('No clips are kept yet');
    const drop = offered(on, 'rules-drop:');
    const proposal = await scene.ledger.rules.proposal(drop.slice('rules-drop:'.length));
    expect(proposal).toMatchObject({ state: 'open', byId: world.member.id });
    expect(textOf(await world.answer.press(drop))).toBe('Dropped. The rules stay as they are.');
    expect((await scene.ledger.rules.proposal(proposal?.id ?? ''))?.state).toBe('dropped');
    expect((await scene.ledger.rules.newest())?.version).toBe(1);
  },

  'a moderator takes the rules as a file, and pastes some': async (on) => {
    const { world } = on;
    await askForRules(on);
    expect(textOf(await world.answer.press('rules-save'))).toContain('The rules, version 1.');
    expect(world.answer.offers().files).toEqual(['rules-1.yaml']);
    await askForRules(on);
    expect(await world.answer.press('rules-paste')).toMatchObject({ kind: 'form', id: 'rules-paste' });
    const wrong = textOf(await world.submit('rules-paste', { how: 'part', text: 'light:\n  severity: off\nviw: {}' }));
    expect(wrong).toContain('Did you mean "view"?');
  },

  'a moderator applies a change, all are told, and it is undone': async (on) => {
    const { world, scene } = on;
    const { name: platform } = world.platform;
    await propose(on, { severity: 'advise' });
    expect(await apply(on, '@everyone *too* strict')).toContain('version 2 is in force');
    const told = await until('the word', async () =>
      (await world.seen(world.coachChannel)).find(({ text }) => text.includes('changed the rules')),
    );
    expect(told.text).toContain('@everyone *too* strict');
    expect(told.pings).toEqual([]);
    expect(told.buttons.map(({ id }) => id)).toEqual(['rules-undo:2']);
    expect(await world.press(told.ref, 'rules-undo:2')).toMatchObject({ kind: 'form', id: 'rules-undo:2' });
    expect(textOf(await world.submit('rules-undo:2', { reason: 'not so' }))).toContain('as version 3');
    const stale = textOf(await world.press(told.ref, 'rules-undo:2'));
    expect(stale).toContain('have changed since');
    expect(await scene.ledger.rules.newest()).toMatchObject({ version: 3, yaml: '', authorId: `${platform}/${world.member.id}` });
  },

  'a moderator goes back to an earlier version': async (on) => {
    const { world, scene } = on;
    await propose(on, { severity: 'advise' });
    await apply(on, 'too strict');
    await propose(on, { severity: 'off' });
    await apply(on, 'still too strict');
    await askForRules(on);
    expect(textOf(await world.answer.press('rules-history'))).toContain('still too strict');
    expect(world.answer.offers().choices).toEqual([{ id: 'rules-back', values: ['2', '1'] }]);
    const shown = textOf(await world.answer.choose('rules-back', '1'));
    expect(shown).toContain('from version 3');
    expect(shown).toContain('not looked at → sends back');
    expect(await apply(on, 'as it was')).toContain('version 4 is in force');
    expect(await scene.ledger.rules.newest()).toMatchObject({ version: 4, yaml: '', reason: 'as it was' });
  },

  'a moderator reads the week, and tries what is suggested': async (on) => {
    const { world, scene, post } = on;
    expect(textOf(await world.command(world.coachChannel, 'report', {}))).toContain('No clips were judged');
    await post('fix');
    expect(textOf(await world.command(world.coachChannel, 'report', {}))).toContain('0 clean, 0 unsure, 1 sent back');
    await askForRules(on);
    expect(textOf(await world.answer.press('rules-suggest'))).toContain('Nothing to suggest');
    const { name: platform } = world.platform;
    for (let i = 0; i < 6; i += 1)
      await keepSquat(scene.ledger, `c${i}`, 180, { evidence: overruled, atMs: scene.clock.nowMs, platform });
    await askForRules(on);
    expect(textOf(await world.answer.press('rules-suggest'))).toContain('6 put right that are judged wrong now');
    const [choice] = world.answer.offers().choices;
    expect(choice?.id).toBe('rules-try');
    expect(textOf(await world.answer.choose('rules-try', choice?.values[0] ?? ''))).toContain('**6 clips: sent back → ');
    expect(await apply(on, 'coaches could use them')).toContain('version 2 is in force');
  },
};

/** What people press, choose, fill in and type on a platform; run by contract.ts. */
import { expect, it } from 'vitest';
import type { PlatformName } from '../../src/platforms/port.ts';
import type { Harness } from './contract.ts';
import { never, type OnWorld, whyField } from './contract-scene.ts';
import { plainMessage, until } from './platform-world.ts';

/** Cases, within the suite of a platform. */
export function actionCases(name: PlatformName, on: OnWorld, harness: Harness): void {
  it('carries a press, its person and place, and shows the answer to that person only', async () => {
    const button = { id: 'appeal:17', label: 'Send to a coach', style: 'plain' as const };
    const choice = {
      id: 'reason:17',
      label: 'Reason',
      options: [
        { value: 'view', label: 'View' },
        { value: 'light', label: 'Light' },
      ],
    };
    const card = await on.world.platform.post(
      { channel: on.world.coachChannel, message: null },
      plainMessage('card', { buttons: [button], choices: [choice] }),
      'k-1',
      never,
    );
    on.got.answer = async () => ({ kind: 'private', message: plainMessage('Sent to a *coach*.') });
    expect(await on.world.press(card, 'appeal:17')).toEqual({ kind: 'private', text: 'Sent to a *coach*.' });
    expect(on.got.actions[0]).toMatchObject({
      kind: 'button',
      id: 'appeal:17',
      where: card,
      channel: on.world.coachChannel,
      person: { platform: name, ...on.world.member },
    });
    on.got.answer = async () => ({ kind: 'nothing' });
    expect(await on.world.choose(card, 'reason:17', 'light')).toEqual({ kind: 'nothing' });
    expect(on.got.actions[1]).toMatchObject({ kind: 'choice', id: 'reason:17', where: card, values: { 'reason:17': 'light' } });
    expect(new Set(on.got.actions.map((a) => a.pressId)).size).toBe(2);
    expect(await on.world.seen(on.world.coachChannel)).toHaveLength(1);
  });

  it('gives a press that is delivered twice the same id', async () => {
    const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
    const card = await on.world.platform.post(
      { channel: on.world.coachChannel, message: null },
      plainMessage('card', { buttons: [button] }),
      'k-1',
      never,
    );
    await on.world.press(card, 'take:1');
    await on.world.redeliver();
    await until('second delivery', () => on.got.actions.length > 1);
    expect(new Set(on.got.actions.map((a) => a.pressId)).size).toBe(1);
  });

  it('opens a form on a press and carries what was filled in', async () => {
    const button = { id: 'ask:17', label: 'Ask for another view', style: 'plain' as const };
    const card = await on.world.platform.post(
      { channel: on.world.coachChannel, message: null },
      plainMessage('card', { buttons: [button] }),
      'k-1',
      never,
    );
    on.got.answer = async (action) =>
      action.kind === 'form'
        ? { kind: 'private', message: plainMessage('Asked.') }
        : {
            kind: 'form',
            form: {
              id: 'request:17',
              title: 'Ask for another view',
              fields: [
                {
                  id: 'view',
                  label: 'View',
                  required: true,
                  hint: 'Where the camera should stand',
                  kind: 'choice',
                  options: [
                    { value: 'front', label: 'Front' },
                    { value: 'side', label: 'Side' },
                  ],
                },
                {
                  id: 'note',
                  label: 'Note to the member',
                  required: false,
                  hint: 'One line',
                  kind: 'text',
                  lines: 'many',
                  maxLength: 300,
                },
              ],
            },
          };
    expect(await on.world.press(card, 'ask:17')).toEqual({
      kind: 'form',
      id: 'request:17',
      title: 'Ask for another view',
      fields: [
        { id: 'view', label: 'View', required: true },
        { id: 'note', label: 'Note to the member', required: false },
      ],
    });
    expect(await on.world.submit('request:17', { view: 'side', note: 'for the back angle' })).toEqual({
      kind: 'private',
      text: 'Asked.',
    });
    expect(on.got.actions.at(-1)).toMatchObject({
      kind: 'form',
      id: 'request:17',
      where: card,
      values: { view: 'side', note: 'for the back angle' },
    });
  });

  it('carries a command with its fields', async () => {
    on.got.answer = async () => ({ kind: 'private', message: plainMessage('From the rear quarter.') });
    expect(await on.world.command(on.world.channel, 'film', { lift: 'squat', note: 'low gym' })).toEqual({
      kind: 'private',
      text: 'From the rear quarter.',
    });
    expect(on.got.actions).toMatchObject([
      {
        kind: 'command',
        id: 'film',
        where: null,
        channel: on.world.channel,
        values: { lift: 'squat', note: 'low gym' },
        person: on.world.member,
      },
    ]);
    on.got.answer = async () => ({ kind: 'nothing' });
    expect(await on.world.command(on.world.channel, 'film', { lift: 'bench' })).toEqual({ kind: 'nothing' });
    expect(on.got.actions[1]?.values).toEqual({ lift: 'bench' });
  });

  it('carries presses in an answer that one person alone sees', async () => {
    const button = { id: 'apply:17', label: 'Apply', style: 'good' as const };
    const options = [
      { value: 'view', label: 'View' },
      { value: 'light', label: 'Light' },
    ];
    const message = plainMessage('What would change', { buttons: [button], choices: [{ id: 'rule', label: 'Rule', options }] });
    on.got.answer = async () => ({ kind: 'private', message });
    await on.world.command(on.world.channel, 'film', { lift: 'squat' });
    expect(on.world.answer.offers()).toEqual({
      buttons: [{ id: 'apply:17', label: 'Apply' }],
      choices: [{ id: 'rule', values: ['view', 'light'] }],
      files: [],
    });
    expect(await on.world.answer.choose('rule', 'light')).toEqual({ kind: 'private', text: 'What would change' });
    on.got.answer = async () => ({ kind: 'form', form: { id: 'apply:17', title: 'Apply', fields: [whyField] } });
    expect(await on.world.answer.press('apply:17')).toMatchObject({ kind: 'form', id: 'apply:17' });
    on.got.answer = async () => ({ kind: 'private', message: plainMessage('Applied.') });
    expect(await on.world.submit('apply:17', { why: 'too strict' })).toEqual({ kind: 'private', text: 'Applied.' });
    expect(on.world.answer.offers()).toEqual({ buttons: [], choices: [], files: [] });
    const alike = { where: null, channel: on.world.channel, person: { platform: name, ...on.world.member } };
    expect(on.got.actions.slice(1)).toMatchObject([
      { ...alike, kind: 'choice', id: 'rule', values: { rule: 'light' } },
      { ...alike, kind: 'button', id: 'apply:17', values: {} },
      { ...alike, kind: 'form', id: 'apply:17', values: { why: 'too strict' } },
    ]);
    expect(new Set(on.got.actions.map((action) => action.pressId)).size).toBe(4);
    expect(await on.world.seen(on.world.channel)).toEqual([]);
  });

  it('answers a slow action all the same', async () => {
    on.got.answer = async () => {
      await new Promise((resolve) => setTimeout(resolve, harness.slowMs));
      return { kind: 'private', message: plainMessage('Took a while.') };
    };
    expect(await on.world.command(on.world.channel, 'film', { lift: 'squat' })).toEqual({
      kind: 'private',
      text: 'Took a while.',
    });
  });

  it('lives on when a handler throws', async () => {
    on.got.answer = async () => {
      throw new Error('ledger away');
    };
    await on.world.command(on.world.channel, 'film', { lift: 'squat' });
    on.got.answer = async () => ({ kind: 'private', message: plainMessage('Here.') });
    expect(await on.world.command(on.world.channel, 'film', { lift: 'squat' })).toEqual({ kind: 'private', text: 'Here.' });
  });
}

/** A clip's card in the coaches' channel. */
import { describe, expect, it } from 'vitest';
import type { Facts } from '../../src/facts/facts.ts';
import { factsOfSet } from '../record/made-sets.ts';
import { card, hourMs, labelsOf, post, press, scene, shows, textOf } from './coach-scene.ts';
import { until } from './setup.ts';

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
    await keep('now', { ...rest, barSpeed: { known: false, reason: 'hidden' } }, 'judged');
    await scene.startBot();
    await until(() => card('now') !== undefined);
    expect(lineOf('now', /^Bar speed/)).toEqual(['Bar speed: cannot tell (too much of the lifter was hidden).']);
    expect(card('now').message.files).toEqual([]);
  });
});

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { quoted, quotedName } from '../../src/bot/quoted.ts';
import { createScene, until } from './setup.ts';

describe('what people wrote, inside a sentence', () => {
  it.each<[string, string, number, string]>([
    ['is on one line', ' a\nb\r\nc\u2028d\te ', 50, 'a b c d e'],
    ['has no bold of its own', '**With Ilse.** 2 * 3 ***x***', 50, '*With Ilse.* 2 * 3 *x*'],
    ['has nothing unseen', 'a\u202Eb\u2066c\u0007d\u200Fe\ufefff\u00adg\u{e0001}h', 50, 'abc defgh'],
    ['keeps what joins emoji and scripts', '👩‍🏫 नमस्‍ते', 50, '👩‍🏫 नमस्‍ते'],
    ['is cut between characters', '🏋🏋🏋', 2, '🏋🏋'],
    ['has no half characters', 'a\ud83cb', 50, 'ab'],
    ['keeps marks of templates as they are', '{name} $& $(x) %s', 50, '{name} $& $(x) %s'],
    ['of 100 kB is cut', 'x '.repeat(50_000), 5, 'x x x'],
    ['of 100 kB of nothing is nothing', '\u202e'.repeat(100_000), 500, ''],
  ])('%s', (_, text, most, said) => expect(quoted(text, most)).toBe(said));

  it('is the id where a name has nothing to show', () => {
    expect(quotedName({ name: ' \u202e\n', id: 'U1' })).toBe('U1');
    expect(quotedName({ name: `Juno${'o'.repeat(200)}`, id: 'U1' })).toHaveLength(80);
  });
});

describe('hostile people', () => {
  let scene: Awaited<ReturnType<typeof createScene>>;
  beforeEach(async () => {
    scene = await createScene();
    await scene.startBot();
  });
  afterEach(() => scene.close());
  const name = '**Odo**\n**With Ilse.**\u202E {name} $& @everyone';
  const shown = '*Odo* *With Ilse.* {name} $& @everyone';
  const all = () => scene.world.posts.map((post) => post.now.text);

  it('stay one word of a line, with a caption of 100 kB', async () => {
    const text = `@everyone {id} \u202e<script>** ${'squat 100 kg x5? '.repeat(6000)}`;
    await scene.world.say(['unsure'], { by: name, text, names: ['-rf {x} $&\u202e.mp4'] });
    await until(async () => (await scene.ledger.inState(['answered'])).length === 1);
    const [id = ''] = await scene.ledger.inState(['answered']);
    expect((await scene.ledger.submission(id))?.authorName).toBe(shown);
    const [card] = scene.world.inChannel('coaches');
    expect(card?.now.text.split('\n')[0]).toContain(`card unsure ${shown} from`);
    expect(all().join('\n')).not.toMatch(/\*\*With|script|-rf/);
    for (const post of scene.world.posts) expect(post.now.text.length).toBeLessThan(2000);
    expect(scene.operator).toEqual([]);
  });

  it('are named plainly to coaches and in the record of who did what', async () => {
    await scene.world.say(['clean']);
    await until(async () => (await scene.ledger.inState(['answered'])).length === 1);
    const [id = ''] = await scene.ledger.inState(['answered']);
    scene.settings.people = { room: { coaches: [name], moderators: [] } };
    await scene.world.act({ kind: 'button', id: `take:${id}` }, name);
    expect(await scene.ledger.desk.entry(id)).toMatchObject({ coachId: name, coachName: shown });
    await until(() => all().some((text) => text.includes(`**With ${shown}.**`)));
  });

  it('cannot do by a forged, stale or foreign button what is not theirs', async () => {
    await scene.world.say(['fix'], { by: 'juno' });
    await until(async () => (await scene.ledger.inState(['answered'])).length === 1);
    const [id = ''] = await scene.ledger.inState(['answered']);
    const before = await scene.ledger.submission(id);
    const forged = [
      ...['take', 'done', 'hand-back', 'unusable', 'ask-view', 'appeal', 'use-cut', 'asked-view'].map((act) => `${act}:${id}`),
      ...['appeal:', 'appeal:no-such-clip', `appeal:${id}:more`, 'rules-apply:x', 'end-request:x:y', '__proto__', ''],
      `appeal:${'x'.repeat(100_000)}`,
    ];
    const values = { reason: 'mine', text: 'x', rule: 'view' };
    const answers = new Set<string>();
    for (const kind of ['button', 'choice', 'form'] as const)
      for (const act of forged)
        answers.add(`${act.slice(0, 20)} ${(await scene.world.act({ kind, id: act, values }, 'odo')).kind}`);
    expect([...answers].filter((one) => !one.endsWith(' private'))).toEqual([]);
    expect(await scene.ledger.submission(id)).toEqual(before);
    expect(await scene.ledger.evidence.of(id)).toEqual([]);
    expect(scene.world.inChannel('coaches')).toEqual([]);
    expect(scene.errors).toEqual([]);
  });
});

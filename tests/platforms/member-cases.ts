/** What members can do, through each platform; run by desk-contract.ts. */
import { expect } from 'vitest';
import type { DeskCases } from './desk-contract.ts';
import { type SeenReply, until } from './platform-world.ts';

const textOf = (seen: SeenReply) => (seen.kind === 'private' ? seen.text : seen.kind);

export const memberCases: DeskCases = {
  'a member asks how to film a lift': async ({ world }) => {
    const text = textOf(await world.command(world.channel, 'film', { lift: 'squat' }));
    expect(text).toContain('How to film the squat');
    expect(text).toContain('Stop if something hurts.');
    expect(world.answer.offers().files).toEqual(['film-squat.png']);
    expect(textOf(await world.command(world.channel, 'film', {}))).toContain('Which lift would you like to film?');
    expect(textOf(await world.answer.choose('film', 'bench'))).toContain('How to film the bench press');
  },

  'a member takes the clip as it was trimmed: the coaches get that one, the post is marked clean': async (on) => {
    const { world, scene, post, card } = on;
    const { ref, id } = await post('turned');
    const posted = (await scene.ledger.act(`reply/${id}`))?.ref;
    if (!posted) throw new Error('no reply');
    const reply = async () => (await world.seen(world.channel)).find((seen) => seen.ref.message === posted.message)!;
    expect((await reply()).buttons[0]).toEqual({ id: `use-cut:${id}`, label: 'Use the trimmed clip' });
    expect(textOf(await world.press(posted, `use-cut:${id}`))).toContain('The clip goes to the coaches now.');
    await until('the card', async () => (await scene.ledger.act(`coach/${id}`))?.state === 'done');
    const shown = await card(id);
    expect(shown.text).toContain('The member took my cut of the clip.');
    expect(shown.files.map(({ name }) => name)).toContain('trimmed.mp4');
    await until('the mark', async () => (await world.marks(ref)).join() === 'clean');
    await until('the reply', async () => (await reply()).buttons.length === 0);
    expect(textOf(await world.command(world.channel, 'my-lifts', {}))).toContain('1 take.');
    expect(await scene.ledger.evidence.of(id)).toEqual([]);
    await until('the end', async () => (await scene.ledger.submission(id))?.state === 'answered');
  },

  'a member sends a clip on with a reason: the card has it, the marks change, the reply loses its buttons': async (on) => {
    const { world, scene, post, card } = on;
    const { ref, id } = await post('fix');
    const reply = async () => {
      const posted = (await scene.ledger.act(`reply/${id}`))?.ref?.message;
      return (await world.seen(world.channel)).find((seen) => seen.ref.message === posted)!;
    };
    expect((await reply()).buttons.map(({ id: button }) => button)).toEqual([`asked-view:${id}`, `appeal:${id}`]);
    const form = await world.press((await reply()).ref, `appeal:${id}`);
    expect(form).toMatchObject({ kind: 'form', id: `appeal:${id}`, fields: [{ id: 'reason', required: true }] });
    const sent = await world.submit(`appeal:${id}`, { reason: '@everyone my *rack* stands there' });
    expect(textOf(sent)).toContain('The clip goes to the coaches now.');
    await until('the card', async () => (await scene.ledger.act(`coach/${id}`))?.state === 'done');
    const posted = await card(id);
    expect(posted.text).toContain('The reason: @everyone my *rack* stands there');
    expect(posted.pings).toEqual([]);
    await until('the mark', async () => (await world.marks(ref)).join() === 'unsure');
    await until('the reply', async () => (await reply()).buttons.length === 0);
    expect((await reply()).text).toContain('Sent on to the coaches as you wished.');
    await until('the end', async () => (await scene.ledger.submission(id))?.state === 'answered');
  },

  'a member says that a coach asked for the view': async ({ world, scene, post, card }) => {
    const { id } = await post('fix');
    const posted = (await scene.ledger.act(`reply/${id}`))?.ref;
    if (!posted) throw new Error('no reply');
    expect(textOf(await world.press(posted, `asked-view:${id}`))).toContain('The clip goes to the coaches now.');
    await until('the card', async () => (await scene.ledger.act(`coach/${id}`))?.state === 'done');
    expect((await card(id)).text).toContain('The member says that a coach asked for this view.');
    await until('the end', async () => (await scene.ledger.submission(id))?.state === 'answered');
  },

  'a member looks at their clips, sets their height, and is asked before all is deleted': async ({ world, post }) => {
    await post('clean');
    const own = textOf(await world.command(world.channel, 'my-lifts', {}));
    expect(own).toContain('1 take. Clean at the first take: 1 of 1 (100 %).');
    expect(textOf(await world.command(world.channel, 'my-height', { height: '5 ft 10' }))).toContain('178 cm');
    expect(textOf(await world.command(world.channel, 'my-height', {}))).toContain('178 cm');
    expect(textOf(await world.command(world.channel, 'forget-me', {}))).toContain('That is one clip');
  },

  'a member has everything deleted, once they have said so': async ({ world, scene, post }) => {
    const { ref, id } = await post('clean');
    await world.command(world.channel, 'forget-me', {});
    expect(await scene.ledger.submission(id)).not.toBeNull();
    expect(textOf(await world.answer.press('forget-me:yes'))).toContain('What I kept of you and your one clip is deleted.');
    expect(await scene.ledger.submission(id)).toBeNull();
    for (const channel of [world.channel, world.coachChannel])
      await until('our posts are gone', async () => (await world.seen(channel)).length === 0);
    await until('our marks are gone', async () => (await world.marks(ref)).length === 0);
  },
};

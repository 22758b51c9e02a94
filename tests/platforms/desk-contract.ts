/**
 * What people can do, through each platform's own adapter and server: the real desk, ledger and bot, with the measuring stood in for. A suite of
 * this kind takes a platform's world from its contract suite; other cases are added with `cases`.
 *
 * The world's one person is member, coach and moderator at once here: who may do what is tested in tests/bot, once for all platforms.
 */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { useCases } from '../../src/bot/desk/index.ts';
import type { UseCase } from '../../src/bot/desk/use-case.ts';
import type { Action, MessageRef, Platform, PlatformEvents, PlatformName } from '../../src/platforms/port.ts';
import { createScene } from '../bot/setup.ts';
import { memberCases } from './member-cases.ts';
import { moderatorCases } from './moderator-cases.ts';
import { type SeenReply, until, type World } from './platform-world.ts';

/** What a case works with. */
export interface DeskScene {
  world: World;
  scene: Awaited<ReturnType<typeof createScene>>;
  /** Posts a clip (what the stand-in for measuring reads) and waits for its answer; the id of its submission. */
  post(what: string, reply?: MessageRef): Promise<{ ref: MessageRef; id: string }>;
  /** The clip's card in the coaches' channel, as it stands now. */
  card(id: string): Promise<Awaited<ReturnType<World['seen']>>[number]>;
}

/** More cases, by name. */
export type DeskCases = Readonly<Record<string, (on: DeskScene) => Promise<void>>>;

/** The adapter, which also notes what comes through it. */
function noting(adapter: Platform, acts: Pick<Action, 'kind' | 'id'>[]): Platform {
  return new Proxy(adapter, {
    get(target, name) {
      const found = Reflect.get(target, name, target) as unknown;
      if (typeof found !== 'function') return found;
      if (name !== 'start') return found.bind(target);
      return (events: PlatformEvents, ...rest: unknown[]) => {
        const onAction = (action: Action) => {
          acts.push(action);
          return events.onAction(action);
        };
        return found.call(target, { ...events, onAction }, ...rest);
      };
    },
  });
}

const textOf = (seen: SeenReply) => (seen.kind === 'private' ? seen.text : seen.kind);

const coachCases: DeskCases = {
  'a coach takes, hands back and ends a clip; the card shows it and keeps its files': async ({ world, post, card }) => {
    const { ref, id } = await post('clean');
    const before = await card(id);
    expect(before.buttons.map(({ id: button }) => button)).toEqual([`take:${id}`, `unusable:${id}`, `ask-view:${id}`]);
    expect(before.files.length).toBeGreaterThan(0);
    expect(textOf(await world.press(before.ref, `take:${id}`))).toContain('It is yours now:');
    await until('the card shows who has it', async () => (await card(id)).text.includes(`**With ${world.member.name}.**`));
    const taken = await card(id);
    expect(taken.ref).toEqual(before.ref);
    expect(taken.files.map(({ name }) => name)).toEqual(before.files.map(({ name }) => name));
    expect(taken.pings).toEqual([]);
    expect(textOf(await world.press(taken.ref, `hand-back:${id}`))).toContain('waits for a coach again');
    await until('the card offers it again', async () => (await card(id)).buttons[0]?.id === `take:${id}`);
    await world.press(taken.ref, `take:${id}`);
    await until('the card offers to end it', async () => (await card(id)).buttons[0]?.id === `done:${id}`);
    expect(textOf(await world.press(taken.ref, `done:${id}`))).toContain('Done.');
    await until("the member's post has the mark", async () => (await world.marks(ref)).includes('done'));
  },

  'a coach lists what waits': async ({ world, post }) => {
    expect(textOf(await world.command(world.coachChannel, 'waiting', {}))).toBe('No clip waits for a coach.');
    await post('clean');
    const text = textOf(await world.command(world.coachChannel, 'waiting', {}));
    expect(text).toMatch(/^\*\*1 clip waits, the oldest first:\*\*\n1\. /);
    expect(text).toContain(world.member.name);
  },

  'a coach works through the list, in answers that they alone see': async ({ world, scene, post }) => {
    const [first, second] = [await post('clean'), await post('clean')];
    await world.command(world.coachChannel, 'waiting', {});
    const offered = () => world.answer.offers().buttons.map(({ id }) => id);
    expect(offered()).toEqual([`take:${first.id}`, `take:${second.id}`]);
    expect(textOf(await world.answer.press(`take:${first.id}`))).toContain('It is yours now:');
    expect(offered()[0]).toBe(`done:${first.id}`);
    expect(textOf(await world.answer.press(`done:${first.id}`))).toContain('Done.');
    expect(await scene.ledger.desk.entry(first.id)).toMatchObject({ state: 'done', coachId: world.member.id });
    await until("the member's post has the mark", async () => (await world.marks(first.ref)).includes('done'));
    await world.command(world.coachChannel, 'waiting', {});
    expect(offered()).toEqual([`take:${second.id}`]);
  },

  'a coach cannot use the filming, and the member is told why': async ({ world, scene, post, card }) => {
    const { ref, id } = await post('clean');
    const form = await world.press((await card(id)).ref, `unusable:${id}`);
    expect(form).toMatchObject({ kind: 'form', id: `unusable:${id}`, fields: [{ id: 'reason' }, { id: 'note' }] });
    expect(textOf(await world.submit(`unusable:${id}`, { reason: 'light', note: '@everyone *too* dark' }))).toContain(
      'in their thread',
    );
    await until('the mark', async () => (await world.marks(ref)).join() === 'fix');
    const told = await until('the reply', async () =>
      (await world.seen(world.channel)).find(({ text }) => text.includes('The light was not good enough.')),
    );
    expect(told.text).toContain('@everyone *too* dark');
    expect(told.pings).toEqual([]);
    expect(await scene.ledger.evidence.of(id)).toMatchObject([{ kind: 'unusable', rule: 'light' }]);
  },

  'a coach asks for another view, and the next clip is judged by it': async ({ world, scene, post, card }) => {
    const { id } = await post('clean');
    const form = await world.press((await card(id)).ref, `ask-view:${id}`);
    expect(form.kind === 'form' && form.fields.map((field) => field.id)).toEqual(['lift', 'view', 'clips', 'until', 'note']);
    const sent = await world.submit(`ask-view:${id}`, { lift: 'squat', view: 'front', clips: '1', note: 'The knees, please.' });
    expect(textOf(sent)).toContain('in their thread');
    await until('the post', async () =>
      (await world.seen(world.channel)).some(({ text }) => text.includes('would like to see your squat from straight in front')),
    );
    const next = await post('fix');
    expect(await scene.ledger.submission(next.id)).toMatchObject({ verdict: 'clean', request: expect.any(String) });
    const replies = (await world.seen(world.channel)).map(({ text }) => text).join('\n');
    expect(replies).toContain('I looked at this clip the way');
  },

  'a coach takes back that they asked for another view': async ({ world, scene, post, card }) => {
    const { id } = await post('clean');
    await world.press((await card(id)).ref, `ask-view:${id}`);
    await world.submit(`ask-view:${id}`, { lift: 'squat', view: 'front', clips: '3' });
    const open = () => scene.ledger.requests.openOf(world.platform.name, world.member.id, scene.clock.nowMs);
    const [asked] = await open();
    expect(world.answer.offers().buttons.map(({ id: button }) => button)).toEqual([`end-request:${asked?.id}:${id}`]);
    expect(textOf(await world.answer.press(`end-request:${asked?.id}:${id}`))).toContain('I took that back');
    expect(await open()).toEqual([]);
    await until('the word', async () =>
      (await world.seen(world.channel)).some(({ text }) => text.includes('needs no other view of your squat')),
    );
    const next = await post('fix');
    expect(await scene.ledger.submission(next.id)).toMatchObject({ verdict: 'fix', request: null });
  },
};

/** Runs use cases on one platform; see the top of this file. */
export function describeDesk(name: PlatformName, create: () => Promise<World>, more: DeskCases = {}): void {
  describe(`what people can do on ${name}`, () => {
    let on: DeskScene;
    const all = { ...coachCases, ...memberCases, ...moderatorCases, ...more };
    const acts: Pick<Action, 'kind' | 'id'>[] = [];
    beforeEach(async () => {
      const world = await create();
      const anybody = [world.member.id];
      const scene = await createScene({
        watched: { [name]: [world.channel] },
        coachChannel: { [name]: world.coachChannel },
        coachMention: {},
        moderatorChannel: { [name]: world.coachChannel },
        limits: { maxBytes: 100_000, maxDurationS: 60, maxPixels: 1e7, timeoutS: 30, maxMemoryMb: 2000 },
        people: { [name]: { coaches: anybody, moderators: anybody } },
        factsDays: null,
      });
      // The platforms' servers tell the real time.
      scene.clock.nowMs = Date.now();
      await scene.startBot({ ledger: (ledger) => ledger, platform: () => noting(world.platform, acts) });
      on = {
        world,
        scene,
        async post(what, reply) {
          const file = { name: 'squat.mp4', contentType: 'video/mp4', body: Buffer.from(what) };
          const ended = () => scene.ledger.inState(['answered', 'undeliverable']);
          const before = await ended();
          const ref = await world.postMember({
            text: 'Squat 100 kg x5',
            files: [file],
            ...(reply === undefined ? {} : { reply }),
          });
          await until('the answer', async () => (await ended()).length > before.length);
          const id = (await ended()).find((one) => !before.includes(one)) ?? '';
          expect(await scene.ledger.submission(id)).toMatchObject({ state: 'answered', ref });
          return { ref, id };
        },
        async card(id) {
          const posted = await scene.ledger.act(`coach/${id}`);
          const seen = await world.seen(world.coachChannel);
          const found = seen.find(({ ref }) => ref.message === posted?.ref?.message);
          if (found === undefined) throw new Error(`no card of ${id}`);
          return found;
        },
      };
    });
    afterEach(async () => {
      await on.scene.close();
      await on.world.close();
    });

    it.each(Object.entries(all))('%s', async (_, run) => {
      await run(on);
      expect(on.scene.errors).toEqual([]);
    });

    it('each use case was done in the cases above', () => {
      const done = ({ id, command }: UseCase) =>
        acts.some((act) => (act.kind === 'command' ? act.id === command?.name : act.id.split(':')[0] === id));
      expect(useCases.filter((one) => !done(one)).map(({ id }) => id)).toEqual([]);
    });
  });
}

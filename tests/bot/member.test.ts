import { existsSync, readFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ActionReply } from '../../src/platforms/port.ts';
import { createScene } from './setup.ts';

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
    const { rmSync } = await import('node:fs');
    rmSync(folder, { recursive: true });
    const { text, files } = await film('squat');
    expect(text).toContain('How to film the squat');
    expect(files).toEqual([]);
    expect(scene.errors).toEqual([expect.stringContaining('a guide could not be drawn')]);
    expect(existsSync(folder)).toBe(false);
  });
});

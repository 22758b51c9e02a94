import { afterEach, expect, it } from 'vitest';
import { createScene, until } from './setup.ts';

let scene: Awaited<ReturnType<typeof createScene>> | null = null;
afterEach(async () => {
  await scene?.close();
});

/** Dies at its call number `at`, before or after the call's effect: that call and all later ones never come back. */
function createDeath(at: number, when: 'before' | 'after') {
  let calls = 0;
  let dead = false;
  const never = () => new Promise<never>(() => {});
  function wrap<T extends object>(target: T): T {
    return new Proxy(target, {
      get(object, name) {
        const value = Reflect.get(object, name);
        if (name === 'jobs') return wrap(value as object);
        if (typeof value !== 'function' || name === 'close' || name === 'start' || name === 'stop') return value;
        return async (...given: unknown[]) => {
          if (dead) return never();
          calls += 1;
          dead = calls === at;
          if (dead && when === 'before') return never();
          const result = await value.apply(object, given);
          return dead ? never() : result;
        };
      },
    });
  }
  return { wrap, isDead: () => dead };
}

/** One clip that is sent back and its clean new take, the bot dying once at the given call; false when there is no such call. */
async function runWithDeath(at: number, when: 'before' | 'after'): Promise<boolean> {
  const now = await createScene({ progressAfterS: -1 });
  scene = now;
  const death = createDeath(at, when);
  const answered = async (n: number) => (await now.ledger.inState(['answered'])).length === n;
  // A bot that hangs in its start never resolves; the next one is started when it is dead.
  void now.startBot({ ledger: death.wrap, platform: death.wrap });
  let alive = true;
  const reach = async (n: number) => {
    await until(async () => death.isDead() || (await answered(n)));
    if (!death.isDead() || !alive) return until(() => answered(n));
    alive = false;
    await now.startBot();
    await until(() => answered(n));
  };
  await until(async () => death.isDead() || (await now.ledger.cursor('watched-since/room/form-check')) !== null);
  const first = await Promise.race([now.world.say(['fix']), until(death.isDead).then(() => now.world.messages[0]!)]);
  await reach(1);
  const second = await Promise.race([
    now.world.say(['clean'], { reply: first.ref }),
    until(death.isDead).then(() => now.world.messages[1]!),
  ]);
  await reach(2);
  const where = `${when} call ${at}`;
  expect(
    now.world.replies(first.ref).map((post) => post.message.text),
    where,
  ).toEqual(['reply fix first']);
  expect(
    now.world.replies(second.ref).map((post) => post.message.text),
    where,
  ).toEqual(['reply clean\nbetter 1 0']);
  expect(now.world.inChannel('coaches'), where).toHaveLength(1);
  expect([now.world.marks.get(first.ref.message), now.world.marks.get(second.ref.message)], where).toEqual([
    ['clean'],
    ['clean'],
  ]);
  await now.close();
  scene = null;
  return death.isDead();
}

it.each(['before', 'after'] as const)(
  'answers each clip exactly once when it dies once, %s any call',
  async (when) => {
    let deaths = 0;
    while (await runWithDeath(deaths + 1, when)) deaths += 1;
    expect(deaths).toBeGreaterThan(50);
  },
  300_000,
);

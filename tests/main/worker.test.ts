import { afterAll, expect, it } from 'vitest';
import { nonce } from '../platforms/room/page-client.ts';
import { startRedis } from '../queue/real-redis.ts';
import { createHome, makeClip, metricsOf, until } from './processes.ts';

const closing: (() => Promise<void>)[] = [];
afterAll(async () => {
  for (const close of closing.reverse()) await close();
});

it('measures on Redis by a worker that fetches the clip from the bot, and ends it on SIGTERM', { timeout: 300_000 }, async () => {
  const redis = await startRedis();
  closing.push(redis.stop);
  const bots = createHome('queue: { prefix: millrace }\n', { REDIS_URL: redis.url });
  const hosts = createHome('queue: { prefix: millrace, processes: 1 }\n', { REDIS_URL: redis.url });
  closing.push(bots.close, hosts.close);
  const { bot, juno, operator } = await bots.start();
  const { body } = await juno.upload('squat.mp4', 'video/mp4', makeClip(bots.folder));
  await juno.ask('POST', '/messages', { channel: 'clips', thread: null, text: '', files: [body.key], nonce: nonce() });
  await until('the queue', async () =>
    (await metricsOf(operator)).get('quarterview_queue_depth{state="waiting"}') === 1 ? true : undefined,
  );

  const worker = hosts.run('src/cli/worker.ts');
  await worker.logged('the worker waits for clips');
  const answer = await until('the answer', async () =>
    (await juno.messages('clips')).find(({ author }) => author.id === 'quarterview'),
  );
  expect(answer.text).toContain('could not find a lifter');
  const end = await worker.end('SIGTERM');
  expect(end.code).toBe(0);
  expect(end.ms).toBeLessThan(20_000);
  expect(bot.log().map(({ msg }) => msg)).toContain('a clip was judged');
  expect((await bot.end('SIGTERM')).code).toBe(0);
});

it('says what a worker needs', { timeout: 120_000 }, async () => {
  const place = createHome();
  closing.push(place.close);
  const worker = place.run('src/cli/worker.ts');
  await until('its end', async () => (worker.child.exitCode === null ? undefined : true));
  expect(worker.child.exitCode).toBe(1);
  expect(worker.errors()).toMatch(/^the worker cannot go on: REDIS_URL is not set/);
});

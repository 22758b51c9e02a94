import { describe, expect, it } from 'vitest';
import { botScopes } from '../../../src/platforms/slack/options.ts';
import { plainMessage, tinyMp4, tinyPng } from '../platform-world.ts';
import { clip, fail, never, useSlack } from './use-slack.ts';

const scene = useSlack();
const { open, fileOf } = scene;

describe('posting once', () => {
  const message = async (text = 'Film again.') =>
    plainMessage(text, {
      files: [
        { path: await fileOf('view.png', tinyPng), name: 'view.png', alt: 'From above' },
        { path: await fileOf('cut.mp4', tinyMp4), name: 'cut.mp4', alt: null },
      ],
    });

  it.each(['files.getUploadURLExternal', 'files.completeUploadExternal'])(
    'shows files once when the process dies at %s',
    async (step) => {
      await open('http');
      const start = await scene.world.postMember({ text: 'clip', files: [clip()] });
      const to = { channel: scene.world.channel, message: start };
      let calls = 0;
      // Before the call takes effect: on the second file's upload, or on the share.
      scene.world.front.intercept = (method) => {
        if (method !== step) return undefined;
        calls++;
        return step === 'files.completeUploadExternal' || calls > 1 ? { status: 500, body: 'down' } : undefined;
      };
      const dying = AbortSignal.timeout(400);
      await expect(scene.world.platform.post(to, await message(), 'k', dying)).rejects.toThrow();
      expect(await scene.world.seen(scene.world.channel)).toEqual([]);
      scene.world.front.intercept = null;
      const ref = await (await scene.world.again()).post(to, await message(), 'k', never);
      const seen = await scene.world.seen(scene.world.channel);
      expect(seen.map((one) => [one.ref, one.files.map((file) => file.name)])).toEqual([[ref, ['view.png', 'cut.mp4']]]);
    },
  );

  it('shows files once when the answer to the share is lost, in this process and in a new one', async () => {
    await open('http');
    const start = await scene.world.postMember({ text: 'clip', files: [clip()] });
    const to = { channel: scene.world.channel, message: start };
    await scene.world.fault('answer-lost');
    await expect(scene.world.platform.post(to, await message(), 'k', never)).rejects.toMatchObject({
      code: 'unreachable',
      retry: { final: false },
    });
    const again = await scene.world.platform.post(to, await message(), 'k', never);
    const crashed = await (await scene.world.again()).post(to, await message(), 'k', never);
    expect((await scene.world.seen(scene.world.channel)).map((one) => one.ref)).toEqual([again]);
    expect(crashed).toEqual(again);
  });

  it('finds a post again after it was edited by a new process', async () => {
    await open('http');
    const to = { channel: scene.world.coachChannel, message: null };
    const ref = await scene.world.platform.post(to, await message(), 'k', never);
    await (await scene.world.again()).edit(ref, plainMessage('**Taken** by Ilse.'), never);
    expect(await (await scene.world.again()).post(to, await message(), 'k', never)).toEqual(ref);
    const [seen] = await scene.world.seen(scene.world.coachChannel);
    expect([seen?.text, seen?.files.length]).toEqual(['**Taken** by Ilse.', 2]);
  });

  it('goes on with the rest of a very long text after a crash between its parts', async () => {
    await open('http');
    const lines = Array.from({ length: 300 }, (_, i) => `${i} ${'word '.repeat(12)}end`);
    const text = plainMessage(lines.join('\n'));
    const to = { channel: scene.world.coachChannel, message: null };
    let posts = 0;
    scene.world.front.intercept = (method) =>
      method === 'chat.postMessage' && posts++ === 1 ? { status: 500, body: 'down' } : undefined;
    await expect(scene.world.platform.post(to, text, 'k', never)).rejects.toMatchObject({ code: 'unreachable' });
    await (await scene.world.again()).post(to, text, 'k', never);
    const shown = (await scene.world.seen(scene.world.coachChannel)).map((one) => one.text);
    expect(shown.join('\n').split('\n')).toEqual(lines);
    expect(shown.length).toBeGreaterThan(1);
  });

  it('takes the files away with the message', async () => {
    await open('http');
    const ref = await scene.world.platform.post({ channel: scene.world.channel, message: null }, await message(), 'k', never);
    const ids = (await scene.world.stored(ref))!.files!.map((file) => file.id);
    await scene.world.platform.remove(ref, never);
    for (const file of ids) await expect(scene.world.front.call('files.info', { file })).rejects.toThrow('file_not_found');
  });
});

describe('faults of Slack', () => {
  it.each([
    ['is_archived', 'gone', true],
    ['channel_not_found', 'gone', true],
    ['not_in_channel', 'forbidden', true],
    ['restricted_action', 'forbidden', true],
    ['internal_error', 'unreachable', false],
    ['invalid_blocks', 'refused', true],
  ])('%s is %s', async (error, code, final) => {
    await open('http');
    scene.world.front.intercept = (method) => (method === 'chat.postMessage' ? fail(error) : undefined);
    const post = scene.world.platform.post({ channel: scene.world.channel, message: null }, plainMessage('x'), 'k', never);
    await expect(post).rejects.toMatchObject({ name: 'PlatformError', code, retry: { final } });
  });

  it('passes on how long to wait', async () => {
    await open('http');
    scene.world.front.intercept = (method) =>
      method === 'chat.postMessage' ? { status: 429, headers: { 'retry-after': '7' }, ...fail('ratelimited') } : undefined;
    const post = scene.world.platform.post({ channel: scene.world.channel, message: null }, plainMessage('x'), 'k', never);
    await expect(post).rejects.toMatchObject({ code: 'rate-limited', retry: { final: false, retryAfterMs: 7000 } });
  });

  it('names the missing scope', async () => {
    await open(
      'http',
      {},
      botScopes.filter((scope) => scope !== 'reactions:write'),
    );
    const ref = await scene.world.postMember({ text: 'clip', files: [] });
    await expect(scene.world.platform.setMarks(ref, ['seen'], never)).rejects.toMatchObject({
      code: 'forbidden',
      message: expect.stringContaining('reactions:write'),
      retry: { final: true },
    });
  });
});

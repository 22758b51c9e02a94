import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { OutgoingMessage } from '../../../src/platforms/port.ts';
import { plainMessage, tinyPng } from '../platform-world.ts';
import { button, clip, never, useDiscord } from './use-discord.ts';

const scene = useDiscord();
const { adapter, post, juno } = scene;

describe('posts to Discord', () => {
  it('finds its post after a crash and long after, when Discord has forgotten the nonce, even once edited', async () => {
    const first = await post(adapter(), plainMessage('Only once.'), 'k-1');
    scene.fake.forgetNonces();
    await adapter().edit(first, plainMessage('Edited.', { buttons: [button] }), never);
    expect(await post(adapter(), plainMessage('Only once.'), 'k-1')).toEqual(first);
    expect(scene.fake.state.messages.size).toBe(1);
  });

  it('posts once by the nonce alone, should Discord drop the invisible mark', async () => {
    const first = await post(adapter(), plainMessage('Only once.'), 'k-1');
    scene.fake.state.messages.get(first.message)!.content = 'Only once.';
    expect(await post(adapter(), plainMessage('Only once.'), 'k-1')).toEqual(first);
    expect(scene.fake.state.messages.size).toBe(1);
  });

  it('finishes a long post that broke off, without repeating its first part', async () => {
    const lines = Array.from({ length: 60 }, (_, i) => `${i} ${'word '.repeat(12)}`.trim());
    scene.fake.state.faults.push('slow', 'forbidden');
    await expect(post(adapter(), plainMessage(lines.join('\n')), 'k-1')).rejects.toMatchObject({ code: 'forbidden' });
    expect(scene.fake.state.messages.size).toBe(1);
    scene.fake.forgetNonces();
    await post(adapter(), plainMessage(lines.join('\n')), 'k-1');
    const shown = [...scene.fake.state.messages.values()].map((m) => m.content.replace(/[\u2060-\u2063]/g, '')).join('\n');
    expect(shown.split('\n')).toEqual(lines);
  });

  it('starts one thread for two answers at the same time, named after the member', async () => {
    const start = scene.fake.say('801', juno(), { text: 'clip', files: [clip()] });
    const [one, two] = [adapter(), adapter()];
    const to = { channel: '801', message: scene.fake.refOf(start) };
    const posts = [one, one, two].map((platform, i) => platform.post(to, plainMessage(`n${i}`), `k-${i}`, never));
    expect((await Promise.all(posts)).map((ref) => ref.thread)).toEqual([start.id, start.id, start.id]);
    const starts = scene.fake.state.calls.filter((call) => call.startsWith('POST') && call.endsWith('/threads'));
    expect(starts.length).toBeLessThanOrEqual(2);
    expect(scene.fake.channel(start.id).name).toBe('Filming: Juno');
  });

  it('keeps files in an edit without files and replaces them in one with', async () => {
    await writeFile(join(scene.folder, 'a.png'), tinyPng);
    const file = { path: join(scene.folder, 'a.png'), name: 'a.png', alt: 'From above' };
    const platform = adapter();
    const ref = await post(platform, plainMessage('card', { files: [file] }), 'k-1');
    await platform.edit(ref, plainMessage('taken'), never);
    expect(scene.fake.state.messages.get(ref.message)?.attachments).toMatchObject([
      { filename: 'a.png', description: 'From above' },
    ]);
    await platform.edit(ref, plainMessage('new', { files: [{ ...file, name: 'b.png', alt: null }] }), never);
    expect(scene.fake.state.messages.get(ref.message)?.attachments.map((a) => [a.filename, a.description])).toEqual([
      ['b.png', undefined],
    ]);
  });

  it('cuts an edit that is too long for one message and says so', async () => {
    const platform = adapter();
    const ref = await post(platform, plainMessage('short'), 'k-1');
    await platform.edit(ref, plainMessage('line of words\n'.repeat(300)), never);
    expect(scene.fake.state.messages.get(ref.message)?.content.replace(/[\u2060-\u2063]/g, '')).toMatch(/words…$/);
  });

  it.each<[string, Partial<OutgoingMessage>]>([
    ['an empty message', { text: ' ' }],
    ['eleven files', { files: Array.from({ length: 11 }, () => ({ path: 'x', name: 'x', alt: null })) }],
    ['a choice without options', { choices: [{ id: 'c', label: 'C', options: [] }] }],
    [
      'six rows',
      { choices: Array.from({ length: 6 }, (_, i) => ({ id: `c${i}`, label: 'C', options: [{ value: 'a', label: 'A' }] })) },
    ],
    ['an id of 101 characters', { buttons: [{ ...button, id: 'x'.repeat(101) }] }],
    ['a mention that is no role', { mention: 'everyone' }],
  ])('refuses %s before sending', async (_what, more) => {
    await expect(post(adapter(), plainMessage('text', more), 'k-1')).rejects.toMatchObject({
      code: 'refused',
      retry: { final: true },
    });
    expect(scene.fake.state.messages.size).toBe(0);
  });

  it('refuses a file over 10 MiB and takes one of exactly that', async () => {
    const platform = adapter();
    const send = async (bytes: number) => {
      await writeFile(join(scene.folder, 'big.mp4'), Buffer.alloc(bytes));
      return post(
        platform,
        plainMessage('clip', { files: [{ path: join(scene.folder, 'big.mp4'), name: 'big.mp4', alt: null }] }),
        `k-${bytes}`,
      );
    };
    await expect(send(platform.maxFileBytes + 1)).rejects.toMatchObject({ code: 'refused', retry: { final: true } });
    await send(10 * 1024 * 1024);
  });

  it('hands a long rate limit back with its time', async () => {
    scene.fake.state.faults.push('long-rate-limit');
    const error = await post(adapter(), plainMessage('x'), 'k-1').catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'rate-limited', retry: { final: false } });
    expect((error as { retry: { retryAfterMs: number } }).retry.retryAfterMs).toBeGreaterThanOrEqual(120_000);
  });

  it('tells missing permissions and lost channels apart, without the text in the fault', async () => {
    scene.fake.state.faults.push('forbidden');
    const error = await post(adapter(), plainMessage('secret words'), 'k-1').catch((e: unknown) => e as Error);
    expect(error).toMatchObject({ code: 'forbidden', retry: { final: true } });
    expect(JSON.stringify([error, String(error), String((error as Error).cause)])).not.toContain('secret words');
    await expect(post(adapter(), plainMessage('x'), 'k-2', '4711')).rejects.toMatchObject({
      code: 'gone',
      retry: { final: true },
    });
  });

  it('leaves the reactions of others and our unmanaged ones alone', async () => {
    const start = scene.fake.say('801', juno(), { text: 'clip', files: [clip()] });
    const react = (name: string, me: boolean) => ({
      emoji: { id: null, name },
      count: 1,
      count_details: { burst: 0, normal: 1 },
      burst_colors: [],
      me_burst: false,
      me,
    });
    start.reactions = [react('👀', false), react('🎉', true), react('⚠', true)];
    await adapter().setMarks(scene.fake.refOf(start), ['clean'], never);
    expect(start.reactions.map((r) => [r.emoji.name, r.me])).toEqual([
      ['👀', false],
      ['🎉', true],
      ['✅', true],
    ]);
  });
});

/** What comes in from a platform: messages, history and files; run by contract.ts. */
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import type { PlatformName } from '../../src/platforms/port.ts';
import { clip, never, type OnWorld, refusal } from './contract-scene.ts';
import { plainMessage, tinyMp4, until } from './platform-world.ts';

/** Cases, within the suite of a platform. */
export function incomingCases(name: PlatformName, on: OnWorld): void {
  it('says its name and asks for the backfill at start', async () => {
    expect(on.world.platform.name).toBe(name);
    expect(on.world.platform.maxFileBytes).toBeGreaterThan(1_000_000);
    await until('gap at start', () => on.got.gaps > 0);
  });

  it('passes a message with two clips, its author and text', async () => {
    const ref = await on.world.postMember({
      text: 'Squat 100 kg x 5, <depth> & "tempo"?',
      files: [clip('one.mp4'), clip('two.mp4')],
    });
    const [message] = await until('message', () => on.got.messages.length > 0 && on.got.messages);
    expect(message?.ref).toEqual(ref);
    expect(message?.ref.thread).toBeNull();
    expect(message?.threadStart).toBeNull();
    expect(message?.text).toBe('Squat 100 kg x 5, <depth> & "tempo"?');
    expect(message?.author).toMatchObject({ platform: name, ...on.world.member, isBot: false });
    expect(message?.files.map((f) => f.name)).toEqual(['one.mp4', 'two.mp4']);
    expect(new Set(message?.files.map((f) => f.id)).size).toBe(2);
    expect(message?.sentAtMs).toBeGreaterThan(1_500_000_000_000);
  });

  it('passes an edit that adds a clip under the same ref', async () => {
    const ref = await on.world.postMember({ text: 'clip follows', files: [] });
    await on.world.editMember(ref, { text: 'here it is', files: [clip()] });
    const edited = await until('edit', () => on.got.messages.find((m) => m.files.length === 1));
    expect(edited.ref).toEqual(ref);
    expect(edited.text).toBe('here it is');
  });

  it('names the start of the thread in a reply', async () => {
    const start = await on.world.postMember({ text: 'take one', files: [clip()] });
    await on.world.platform.post({ channel: on.world.channel, message: start }, plainMessage('Seen.'), 'k-1', never);
    const reply = await on.world.postMember({ text: 'take two', files: [clip('two.mp4')], reply: start });
    const message = await until('reply', () => on.got.messages.find((m) => m.text === 'take two'));
    expect(message.ref).toEqual(reply);
    expect(message.ref.channel).toBe(on.world.channel);
    expect(message.ref.thread).not.toBeNull();
    expect(message.threadStart).toEqual(start);
  });

  it('keeps silent about other channels and never passes bots or itself as people', async () => {
    await on.world.postMember({ text: 'elsewhere', files: [clip()], channel: on.world.otherChannel });
    await on.world.postMember({ text: 'from a machine', files: [clip()], byBot: true });
    await on.world.platform.post({ channel: on.world.channel, message: null }, plainMessage('from us'), 'k-1', never);
    await on.world.postMember({ text: 'last', files: [clip()] });
    await until('last', () => on.got.messages.some((m) => m.text === 'last'));
    expect(on.got.messages.filter((m) => !m.author.isBot).map((m) => m.text)).toEqual(['last']);
  });

  it('delivers a repeated event with the same ref', async () => {
    await on.world.postMember({ text: 'once', files: [clip()] });
    await on.world.redeliver();
    await on.world.postMember({ text: 'after', files: [] });
    await until('after', () => on.got.messages.some((m) => m.text === 'after'));
    expect(new Set(on.got.messages.filter((m) => m.text === 'once').map((m) => m.ref.message)).size).toBe(1);
  });

  it('reads history after a message, oldest first, threads included, up to a limit', async () => {
    const one = await on.world.postMember({ text: 'one', files: [clip()] });
    await on.world.postMember({ text: 'words only', files: [] });
    await on.world.platform.post({ channel: on.world.channel, message: one }, plainMessage('ours'), 'k-1', never);
    await on.world.postMember({ text: 'two', files: [clip()], reply: one });
    await on.world.postMember({ text: 'three', files: [clip()] });
    const texts = async (after: string | null, limit: number) =>
      (await on.world.platform.history(on.world.channel, after, limit, never)).filter((m) => !m.author.isBot).map((m) => m.text);
    expect(await texts(null, 50)).toEqual(['one', 'two', 'three']);
    expect(await texts(one.message, 50)).toEqual(['two', 'three']);
    expect(await texts(one.message, 1)).toEqual(['two']);
    const found = await on.world.platform.history(on.world.channel, one.message, 50, never);
    const live = await until('live reply', () => on.got.messages.find((m) => m.text === 'two'));
    expect(found.find((m) => m.text === 'two')).toEqual(live);
  });

  it('fetches a file byte for byte, also through an adapter that never saw its event', async () => {
    await on.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => on.got.messages[0]);
    for (const [i, platform] of [on.world.platform, await on.world.again()].entries()) {
      const path = join(on.folder, `fetched-${i}`);
      await platform.fetchFile(message.ref, message.files[0]!, path, 1_000_000, never);
      expect(await readFile(path)).toEqual(tinyMp4);
    }
  });

  it('refuses a file over the cap and leaves nothing behind', async () => {
    await on.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => on.got.messages[0]);
    const path = join(on.folder, 'fetched');
    for (const bytes of [message.files[0]!.bytes, null]) {
      const error = await refusal(
        on.world.platform.fetchFile(message.ref, { ...message.files[0]!, bytes }, path, tinyMp4.length - 1, never),
      );
      expect(error).toMatchObject({ code: 'refused', retry: { final: true } });
      await expect(stat(path)).rejects.toThrow();
    }
  });

  it('refuses a page in place of the file', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => on.got.messages[0]);
    await on.world.loginPage(ref);
    const path = join(on.folder, 'fetched');
    const error = await refusal(on.world.platform.fetchFile(message.ref, message.files[0]!, path, 1_000_000, never));
    expect(['not-ready', 'refused']).toContain(error.code);
    await expect(stat(path)).rejects.toThrow();
  });

  it('says gone when the message of a file was deleted', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => on.got.messages[0]);
    await on.world.deleteMember(ref);
    const error = await refusal(
      on.world.platform.fetchFile(message.ref, message.files[0]!, join(on.folder, 'f'), 1_000_000, never),
    );
    expect(error).toMatchObject({ code: 'gone', retry: { final: true } });
  });

  it('sets exactly the marks asked for, again and again', async () => {
    const ref = await on.world.postMember({ text: 'clip', files: [clip()] });
    await on.world.platform.setMarks(ref, ['seen'], never);
    await on.world.platform.setMarks(ref, ['seen'], never);
    expect(await on.world.marks(ref)).toEqual(['seen']);
    await (await on.world.again()).setMarks(ref, ['fix'], never);
    expect(await on.world.marks(ref)).toEqual(['fix']);
    await on.world.platform.setMarks(ref, ['clean', 'done'], never);
    expect((await on.world.marks(ref)).sort()).toEqual(['clean', 'done']);
    await on.world.platform.setMarks(ref, [], never);
    expect(await on.world.marks(ref)).toEqual([]);
  });
}

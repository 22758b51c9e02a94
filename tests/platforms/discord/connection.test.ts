import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { recordEvents, tinyMp4, until } from '../platform-world.ts';
import { thread } from './shapes.ts';
import { clip, never, useDiscord } from './use-discord.ts';

const scene = useDiscord();
const { adapter, started, juno } = scene;

describe('the connection to Discord', () => {
  it('asks for exactly the intents that deploy/discord.md names', async () => {
    await started();
    const [session] = scene.fake.gateway.sessions.values();
    expect(session?.intents).toBe((1 << 0) | (1 << 9) | (1 << 15));
  });

  it.each(['close 4000', 'opcode 7'])('resumes after %s: what came meanwhile is replayed, no backfill asked', async (how) => {
    const { got } = await started();
    await until('start', () => got.gaps === 1);
    if (how === 'opcode 7') scene.fake.gateway.tell(7);
    else scene.fake.gateway.drop(4000, false);
    await until('line down', () => [...scene.fake.gateway.sessions.values()].every((s) => s.socket === null));
    scene.fake.say('801', juno(), { text: 'meanwhile', files: [clip()] });
    await until('replay', () => got.messages.some((m) => m.text === 'meanwhile'));
    expect(scene.fake.gateway.record).toMatchObject({ identifies: 1, resumes: 1 });
    expect(got.gaps).toBe(1);
  });

  it('identifies anew after opcode 9 and asks for the backfill', async () => {
    const { got } = await started();
    scene.fake.gateway.tell(9);
    await until('second session', () => got.gaps === 2);
    expect(scene.fake.gateway.record.identifies).toBe(2);
  });

  it('keeps the pace of IDENTIFY when sessions are refused again and again', async () => {
    const { got } = await started([], { identifyPace: { burst: 1, everyMs: 1500 } });
    const from = performance.now();
    scene.fake.gateway.tell(9);
    await until('second session', () => got.gaps === 2);
    // The library itself waits 0.5 s before it connects again; the rest is our pace. Timers may fire a few ms early.
    expect(performance.now() - from).toBeGreaterThan(1400);
  });

  it('comes back by itself when the gateway is away for a while', async () => {
    const { got } = await started();
    scene.fake.gateway.refuse(true);
    scene.fake.gateway.drop(4000, true);
    await new Promise((resolve) => setTimeout(resolve, 1200));
    scene.fake.gateway.refuse(false);
    await until('second session', () => got.gaps === 2);
  });

  it('gives up at once, with what to do, when the token is refused', async () => {
    const platform = adapter({ token: 'MTAx.wrong.token' });
    const error = await platform.start(recordEvents().events, [], never).catch((e: unknown) => e);
    expect(error).toMatchObject({ name: 'PlatformError', code: 'forbidden', retry: { final: true } });
    expect(String(error)).toContain('developer portal');
    expect(String(error)).not.toContain('MTAx');
  });

  it('gives up at once, with what to do, when the message content intent is off', async () => {
    scene.fake.state.app.flags = 0;
    const error = await adapter()
      .start(recordEvents().events, [], never)
      .catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'forbidden', retry: { final: true } });
    expect(String(error)).toContain('Message Content Intent');
  });

  it('keeps trying while Discord cannot be reached, until told to stop', async () => {
    scene.fake.state.sessionsLeft = 0;
    const ending = new AbortController();
    const start = adapter()
      .start(recordEvents().events, [], ending.signal)
      .catch((e: unknown) => e);
    await until('first try', () => scene.logged.some((line) => line.includes('login failed')));
    ending.abort(new Error('enough'));
    expect(await start).toEqual(new Error('enough'));
    expect(scene.fake.gateway.record.identifies).toBe(0);
  });
});

describe('messages from Discord', () => {
  it('passes replies in the channel with what they answer, and forum posts with their thread', async () => {
    const { got } = await started([], { channels: ['801', '804'] });
    const first = scene.fake.say('801', juno(), { text: 'first', files: [clip()] });
    scene.fake.say(
      '801',
      juno(),
      { text: 'answer', files: [clip()] },
      { type: 19, message_reference: { type: 0, channel_id: '801', message_id: first.id, guild_id: '700' } },
    );
    const answer = await until('answer', () => got.messages.find((m) => m.text === 'answer'));
    expect(answer.threadStart).toEqual(scene.fake.refOf(first));

    const start = scene.fake.state.nextId();
    scene.fake.state.channels.set(start, thread(start, '700', '804', 'bench', '101'));
    const opening = scene.fake.say(start, juno(), { text: 'opening', files: [clip()] }, { id: start });
    scene.fake.say(start, juno(), { text: 'later', files: [clip()] });
    const later = await until('later', () => got.messages.find((m) => m.text === 'later'));
    expect(got.messages.find((m) => m.text === 'opening')).toMatchObject({ ref: scene.fake.refOf(opening), threadStart: null });
    expect(later).toMatchObject({
      ref: { channel: '804', thread: start },
      threadStart: { channel: '804', message: start, thread: start },
    });
  });

  it('passes notices by and takes a webhook for a machine', async () => {
    const { got } = await started();
    scene.fake.say('801', juno(), { text: '', files: [] }, { type: 7 });
    scene.fake.say('801', juno(), { text: 'by hook', files: [clip()] }, { webhook_id: '77' });
    const [message] = await until('hook', () => got.messages.length > 0 && got.messages);
    expect(message).toMatchObject({ text: 'by hook', author: { isBot: true } });
    expect(got.messages).toHaveLength(1);
  });

  it('logs a failing handler without the caption and goes on', async () => {
    const { got } = await started();
    const { onMessage } = got.events;
    got.events.onMessage = async () => {
      throw new Error('ledger away');
    };
    scene.fake.say('801', juno(), { text: 'secret caption', files: [clip()] });
    await until('log', () => scene.logged.some((line) => line.includes('ledger away')));
    got.events.onMessage = onMessage;
    scene.fake.say('801', juno(), { text: 'next', files: [clip()] });
    await until('next', () => got.messages.some((m) => m.text === 'next'));
    expect(scene.logged.join('\n')).not.toContain('secret caption');
    expect(scene.logged.join('\n')).not.toContain(scene.fake.state.token);
  });

  it('pages through history, with archived threads and without old ones', async () => {
    const before = scene.fake.say('801', juno(), { text: 'before', files: [clip()] });
    const old = scene.fake.say('801', juno(), { text: 'old thread', files: [] });
    scene.fake.state.channels.set(old.id, thread(old.id, '700', '801', 'old', '900'));
    scene.fake.say(old.id, juno(), { text: 'old reply', files: [clip()] });
    const after = scene.fake.say('801', juno(), { text: 'after this', files: [clip()] });
    for (let i = 0; i < 230; i++) scene.fake.say('801', juno(), { text: `n${i}`, files: i % 23 === 0 ? [clip()] : [] });
    const kept = thread(before.id, '700', '801', 'kept', '900');
    scene.fake.state.channels.set(before.id, kept);
    scene.fake.say(before.id, juno(), { text: 'in the archive', files: [clip()] });
    kept.thread_metadata.archived = true;
    kept.thread_metadata.archive_timestamp = new Date(Date.UTC(2026, 3, 1)).toISOString();
    const found = await adapter().history('801', after.id, 100, never);
    expect(found.map((m) => m.text)).toEqual([...Array.from({ length: 10 }, (_, i) => `n${i * 23}`), 'in the archive']);
    expect(found.at(-1)?.threadStart).toEqual(scene.fake.refOf(before));
    const pages = scene.fake.state.calls.filter((call) => call === 'GET /channels/801/messages');
    expect(pages).toHaveLength(3);
    expect(scene.fake.state.calls).not.toContain(`GET /channels/${old.id}/messages`);
  });
});

describe('files from Discord', () => {
  const posted = async () => {
    const { platform, got } = await started();
    scene.fake.say('801', juno(), { text: 'clip', files: [clip()] });
    return { platform, message: await until('message', () => got.messages[0]) };
  };

  it('takes a fresh address when the one of the event has expired', async () => {
    const { platform, message } = await posted();
    scene.fake.expireAddresses();
    await platform.fetchFile(message.ref, message.files[0]!, join(scene.folder, 'a.mp4'), 10_000, never);
    expect(await readFile(join(scene.folder, 'a.mp4'))).toEqual(tinyMp4);
  });

  it.each(['page', 'page-as-file', 'half'] as const)(
    'refuses %s, to be tried again, and leaves nothing behind',
    async (instead) => {
      const { platform, message } = await posted();
      for (const file of scene.fake.state.files.values()) file.instead = instead;
      const error = await platform
        .fetchFile(message.ref, message.files[0]!, join(scene.folder, 'a.mp4'), 10_000, never)
        .catch((e: unknown) => e);
      expect(error).toMatchObject({ code: instead === 'half' ? 'unreachable' : 'not-ready', retry: { final: false } });
      for (const name of ['a.mp4', 'a.mp4.part']) await expect(stat(join(scene.folder, name))).rejects.toThrow();
    },
  );

  it('takes a file of exactly the cap and refuses one byte less', async () => {
    const { platform, message } = await posted();
    const fetch = (cap: number) => platform.fetchFile(message.ref, message.files[0]!, join(scene.folder, 'a.mp4'), cap, never);
    await expect(fetch(tinyMp4.length - 1)).rejects.toMatchObject({ code: 'refused', retry: { final: true } });
    await fetch(tinyMp4.length);
  });
});

import { mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { discordPlatform } from '../../../src/platforms/discord/discord.ts';
import type { DiscordOptions } from '../../../src/platforms/discord/options.ts';
import { invitePermissions } from '../../../src/platforms/discord/preflight.ts';
import type { Command, Form, OutgoingMessage, Platform } from '../../../src/platforms/port.ts';
import { plainMessage, recordEvents, tinyMp4, tinyPng, until } from '../contract.ts';
import { type Fake, startFake } from './fake.ts';
import { thread } from './shapes.ts';
import { optionsFor } from './world.ts';

const never = new AbortController().signal;
const clip = (name = 'squat.mp4') => ({ name, contentType: 'video/mp4', body: tinyMp4 });
const button = { id: 'take:1', label: 'Take', style: 'plain' as const };

let fake: Fake;
let folder: string;
const adapters: Platform[] = [];
const logged: string[] = [];

const adapter = (more: Partial<DiscordOptions> = {}) => {
  const note = (fields: object, message: string) => void logged.push(`${message} ${JSON.stringify(fields)}`);
  const made = discordPlatform(optionsFor(fake, { log: { info: note, warn: note, error: note }, ...more }));
  adapters.push(made);
  return made;
};
const started = async (commands: Command[] = [], more: Partial<DiscordOptions> = {}) => {
  const platform = adapter(more);
  const got = recordEvents();
  await platform.start(got.events, commands, never);
  return { platform, got };
};
const post = (platform: Platform, message: OutgoingMessage, key: string, channel = '801') =>
  platform.post({ channel, message: null }, message, key, never);
const juno = () => fake.state.people.juno;

beforeEach(async () => {
  fake = await startFake(600);
  folder = await mkdtemp(join(tmpdir(), 'qv-discord-'));
});
afterEach(async () => {
  await Promise.all(adapters.splice(0).map((made) => made.stop()));
  await rm(folder, { recursive: true, force: true });
  logged.length = 0;
  await fake.close();
});

describe('the connection to Discord', () => {
  it('asks for exactly the intents that deploy/discord.md names', async () => {
    await started();
    const [session] = fake.gateway.sessions.values();
    expect(session?.intents).toBe((1 << 0) | (1 << 9) | (1 << 15));
  });

  it.each(['close 4000', 'opcode 7'])('resumes after %s: what came meanwhile is replayed, no backfill asked', async (how) => {
    const { got } = await started();
    await until('start', () => got.gaps === 1);
    if (how === 'opcode 7') fake.gateway.tell(7);
    else fake.gateway.drop(4000, false);
    await until('line down', () => [...fake.gateway.sessions.values()].every((s) => s.socket === null));
    fake.say('801', juno(), { text: 'meanwhile', files: [clip()] });
    await until('replay', () => got.messages.some((m) => m.text === 'meanwhile'));
    expect(fake.gateway.record).toMatchObject({ identifies: 1, resumes: 1 });
    expect(got.gaps).toBe(1);
  });

  it('identifies anew after opcode 9 and asks for the backfill', async () => {
    const { got } = await started();
    fake.gateway.tell(9);
    await until('second session', () => got.gaps === 2);
    expect(fake.gateway.record.identifies).toBe(2);
  });

  it('keeps the pace of IDENTIFY when sessions are refused again and again', async () => {
    const { got } = await started([], { identifyPace: { burst: 1, everyMs: 1500 } });
    const from = performance.now();
    fake.gateway.tell(9);
    await until('second session', () => got.gaps === 2);
    // The library itself waits 0.5 s before it connects again; the rest is our pace. Timers may fire a few ms early.
    expect(performance.now() - from).toBeGreaterThan(1400);
  });

  it('comes back by itself when the gateway is away for a while', async () => {
    const { got } = await started();
    fake.gateway.refuse(true);
    fake.gateway.drop(4000, true);
    await new Promise((resolve) => setTimeout(resolve, 1200));
    fake.gateway.refuse(false);
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
    fake.state.app.flags = 0;
    const error = await adapter()
      .start(recordEvents().events, [], never)
      .catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'forbidden', retry: { final: true } });
    expect(String(error)).toContain('Message Content Intent');
  });

  it('keeps trying while Discord cannot be reached, until told to stop', async () => {
    fake.state.sessionsLeft = 0;
    const ending = new AbortController();
    const start = adapter()
      .start(recordEvents().events, [], ending.signal)
      .catch((e: unknown) => e);
    await until('first try', () => logged.some((line) => line.includes('login failed')));
    ending.abort(new Error('enough'));
    expect(await start).toEqual(new Error('enough'));
    expect(fake.gateway.record.identifies).toBe(0);
  });
});

describe('messages from Discord', () => {
  it('passes replies in the channel with what they answer, and forum posts with their thread', async () => {
    const { got } = await started([], { channels: ['801', '804'] });
    const first = fake.say('801', juno(), { text: 'first', files: [clip()] });
    fake.say(
      '801',
      juno(),
      { text: 'answer', files: [clip()] },
      { type: 19, message_reference: { type: 0, channel_id: '801', message_id: first.id, guild_id: '700' } },
    );
    const answer = await until('answer', () => got.messages.find((m) => m.text === 'answer'));
    expect(answer.threadStart).toEqual(fake.refOf(first));

    const start = fake.state.nextId();
    fake.state.channels.set(start, thread(start, '700', '804', 'bench', '101'));
    const opening = fake.say(start, juno(), { text: 'opening', files: [clip()] }, { id: start });
    fake.say(start, juno(), { text: 'later', files: [clip()] });
    const later = await until('later', () => got.messages.find((m) => m.text === 'later'));
    expect(got.messages.find((m) => m.text === 'opening')).toMatchObject({ ref: fake.refOf(opening), threadStart: null });
    expect(later).toMatchObject({
      ref: { channel: '804', thread: start },
      threadStart: { channel: '804', message: start, thread: start },
    });
  });

  it('passes notices by and takes a webhook for a machine', async () => {
    const { got } = await started();
    fake.say('801', juno(), { text: '', files: [] }, { type: 7 });
    fake.say('801', juno(), { text: 'by hook', files: [clip()] }, { webhook_id: '77' });
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
    fake.say('801', juno(), { text: 'secret caption', files: [clip()] });
    await until('log', () => logged.some((line) => line.includes('ledger away')));
    got.events.onMessage = onMessage;
    fake.say('801', juno(), { text: 'next', files: [clip()] });
    await until('next', () => got.messages.some((m) => m.text === 'next'));
    expect(logged.join('\n')).not.toContain('secret caption');
    expect(logged.join('\n')).not.toContain(fake.state.token);
  });

  it('pages through history, with archived threads and without old ones', async () => {
    const before = fake.say('801', juno(), { text: 'before', files: [clip()] });
    const old = fake.say('801', juno(), { text: 'old thread', files: [] });
    fake.state.channels.set(old.id, thread(old.id, '700', '801', 'old', '900'));
    fake.say(old.id, juno(), { text: 'old reply', files: [clip()] });
    const after = fake.say('801', juno(), { text: 'after this', files: [clip()] });
    for (let i = 0; i < 230; i++) fake.say('801', juno(), { text: `n${i}`, files: i % 23 === 0 ? [clip()] : [] });
    const kept = thread(before.id, '700', '801', 'kept', '900');
    fake.state.channels.set(before.id, kept);
    fake.say(before.id, juno(), { text: 'in the archive', files: [clip()] });
    kept.thread_metadata.archived = true;
    kept.thread_metadata.archive_timestamp = new Date(Date.UTC(2026, 3, 1)).toISOString();
    const found = await adapter().history('801', after.id, 100, never);
    expect(found.map((m) => m.text)).toEqual([...Array.from({ length: 10 }, (_, i) => `n${i * 23}`), 'in the archive']);
    expect(found.at(-1)?.threadStart).toEqual(fake.refOf(before));
    const pages = fake.state.calls.filter((call) => call === 'GET /channels/801/messages');
    expect(pages).toHaveLength(3);
    expect(fake.state.calls).not.toContain(`GET /channels/${old.id}/messages`);
  });
});

describe('files from Discord', () => {
  const posted = async () => {
    const { platform, got } = await started();
    fake.say('801', juno(), { text: 'clip', files: [clip()] });
    return { platform, message: await until('message', () => got.messages[0]) };
  };

  it('takes a fresh address when the one of the event has expired', async () => {
    const { platform, message } = await posted();
    fake.expireAddresses();
    await platform.fetchFile(message.ref, message.files[0]!, join(folder, 'a.mp4'), 10_000, never);
    expect(await readFile(join(folder, 'a.mp4'))).toEqual(tinyMp4);
  });

  it.each(['page', 'page-as-file', 'half'] as const)(
    'refuses %s, to be tried again, and leaves nothing behind',
    async (instead) => {
      const { platform, message } = await posted();
      for (const file of fake.state.files.values()) file.instead = instead;
      const error = await platform
        .fetchFile(message.ref, message.files[0]!, join(folder, 'a.mp4'), 10_000, never)
        .catch((e: unknown) => e);
      expect(error).toMatchObject({ code: instead === 'half' ? 'unreachable' : 'not-ready', retry: { final: false } });
      for (const name of ['a.mp4', 'a.mp4.part']) await expect(stat(join(folder, name))).rejects.toThrow();
    },
  );

  it('takes a file of exactly the cap and refuses one byte less', async () => {
    const { platform, message } = await posted();
    const fetch = (cap: number) => platform.fetchFile(message.ref, message.files[0]!, join(folder, 'a.mp4'), cap, never);
    await expect(fetch(tinyMp4.length - 1)).rejects.toMatchObject({ code: 'refused', retry: { final: true } });
    await fetch(tinyMp4.length);
  });
});

describe('posts to Discord', () => {
  it('finds its post after a crash and long after, when Discord has forgotten the nonce, even once edited', async () => {
    const first = await post(adapter(), plainMessage('Only once.'), 'k-1');
    fake.forgetNonces();
    await adapter().edit(first, plainMessage('Edited.', { buttons: [button] }), never);
    expect(await post(adapter(), plainMessage('Only once.'), 'k-1')).toEqual(first);
    expect(fake.state.messages.size).toBe(1);
  });

  it('posts once by the nonce alone, should Discord drop the invisible mark', async () => {
    const first = await post(adapter(), plainMessage('Only once.'), 'k-1');
    fake.state.messages.get(first.message)!.content = 'Only once.';
    expect(await post(adapter(), plainMessage('Only once.'), 'k-1')).toEqual(first);
    expect(fake.state.messages.size).toBe(1);
  });

  it('finishes a long post that broke off, without repeating its first part', async () => {
    const lines = Array.from({ length: 60 }, (_, i) => `${i} ${'word '.repeat(12)}`.trim());
    fake.state.faults.push('slow', 'forbidden');
    await expect(post(adapter(), plainMessage(lines.join('\n')), 'k-1')).rejects.toMatchObject({ code: 'forbidden' });
    expect(fake.state.messages.size).toBe(1);
    fake.forgetNonces();
    await post(adapter(), plainMessage(lines.join('\n')), 'k-1');
    const shown = [...fake.state.messages.values()].map((m) => m.content.replace(/[\u2060-\u2063]/g, '')).join('\n');
    expect(shown.split('\n')).toEqual(lines);
  });

  it('starts one thread for two answers at the same time, named after the member', async () => {
    const start = fake.say('801', juno(), { text: 'clip', files: [clip()] });
    const [one, two] = [adapter(), adapter()];
    const to = { channel: '801', message: fake.refOf(start) };
    const posts = [one, one, two].map((platform, i) => platform.post(to, plainMessage(`n${i}`), `k-${i}`, never));
    expect((await Promise.all(posts)).map((ref) => ref.thread)).toEqual([start.id, start.id, start.id]);
    const starts = fake.state.calls.filter((call) => call.startsWith('POST') && call.endsWith('/threads'));
    expect(starts.length).toBeLessThanOrEqual(2);
    expect(fake.channel(start.id).name).toBe('Filming: Juno');
  });

  it('keeps files in an edit without files and replaces them in one with', async () => {
    await writeFile(join(folder, 'a.png'), tinyPng);
    const file = { path: join(folder, 'a.png'), name: 'a.png', alt: 'From above' };
    const platform = adapter();
    const ref = await post(platform, plainMessage('card', { files: [file] }), 'k-1');
    await platform.edit(ref, plainMessage('taken'), never);
    expect(fake.state.messages.get(ref.message)?.attachments).toMatchObject([{ filename: 'a.png', description: 'From above' }]);
    await platform.edit(ref, plainMessage('new', { files: [{ ...file, name: 'b.png', alt: null }] }), never);
    expect(fake.state.messages.get(ref.message)?.attachments.map((a) => [a.filename, a.description])).toEqual([
      ['b.png', undefined],
    ]);
  });

  it('cuts an edit that is too long for one message and says so', async () => {
    const platform = adapter();
    const ref = await post(platform, plainMessage('short'), 'k-1');
    await platform.edit(ref, plainMessage('line of words\n'.repeat(300)), never);
    expect(fake.state.messages.get(ref.message)?.content.replace(/[\u2060-\u2063]/g, '')).toMatch(/words…$/);
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
    expect(fake.state.messages.size).toBe(0);
  });

  it('refuses a file over 10 MiB and takes one of exactly that', async () => {
    const platform = adapter();
    const send = async (bytes: number) => {
      await writeFile(join(folder, 'big.mp4'), Buffer.alloc(bytes));
      return post(
        platform,
        plainMessage('clip', { files: [{ path: join(folder, 'big.mp4'), name: 'big.mp4', alt: null }] }),
        `k-${bytes}`,
      );
    };
    await expect(send(platform.maxFileBytes + 1)).rejects.toMatchObject({ code: 'refused', retry: { final: true } });
    await send(10 * 1024 * 1024);
  });

  it('hands a long rate limit back with its time', async () => {
    fake.state.faults.push('long-rate-limit');
    const error = await post(adapter(), plainMessage('x'), 'k-1').catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'rate-limited', retry: { final: false } });
    expect((error as { retry: { retryAfterMs: number } }).retry.retryAfterMs).toBeGreaterThanOrEqual(120_000);
  });

  it('tells missing permissions and lost channels apart, without the text in the fault', async () => {
    fake.state.faults.push('forbidden');
    const error = await post(adapter(), plainMessage('secret words'), 'k-1').catch((e: unknown) => e as Error);
    expect(error).toMatchObject({ code: 'forbidden', retry: { final: true } });
    expect(JSON.stringify([error, String(error), String((error as Error).cause)])).not.toContain('secret words');
    await expect(post(adapter(), plainMessage('x'), 'k-2', '4711')).rejects.toMatchObject({
      code: 'gone',
      retry: { final: true },
    });
  });

  it('leaves the reactions of others and our unmanaged ones alone', async () => {
    const start = fake.say('801', juno(), { text: 'clip', files: [clip()] });
    const react = (name: string, me: boolean) => ({
      emoji: { id: null, name },
      count: 1,
      count_details: { burst: 0, normal: 1 },
      burst_colors: [],
      me_burst: false,
      me,
    });
    start.reactions = [react('👀', false), react('🎉', true), react('⚠', true)];
    await adapter().setMarks(fake.refOf(start), ['clean'], never);
    expect(start.reactions.map((r) => [r.emoji.name, r.me])).toEqual([
      ['👀', false],
      ['🎉', true],
      ['✅', true],
    ]);
  });
});

describe('actions on Discord', () => {
  const form: Form = {
    id: 'f',
    title: 'A title that is much longer than the forty-five characters of Discord',
    fields: [{ id: 'note', label: 'Note', required: true, hint: '', kind: 'text', lines: 'one', maxLength: 9000 }],
  };
  const pressed = async (answer: ReturnType<typeof recordEvents>['answer']) => {
    const { platform, got } = await started();
    got.answer = answer;
    const card = await post(platform, plainMessage('card', { buttons: [button] }), 'k-1');
    return fake.interact(3, '801', { component_type: 2, custom_id: 'take:1', id: 2 }, fake.state.messages.get(card.message));
  };
  const slowly = <T>(value: T) => new Promise<T>((resolve) => setTimeout(resolve, 300, value));

  it('says so when a form comes too late to be opened', async () => {
    expect(await pressed(() => slowly({ kind: 'form', form }))).toEqual({
      kind: 'private',
      text: 'That took too long. Please press again.',
    });
  });

  it('clears the wait when nothing is to be said late', async () => {
    expect(await pressed(() => slowly({ kind: 'nothing' }))).toEqual({ kind: 'nothing' });
  });

  it('cuts a title to what Discord takes, and says that it failed where a form has too many fields', async () => {
    expect(await pressed(async () => ({ kind: 'form', form }))).toMatchObject({
      kind: 'form',
      title: 'A title that is much longer than the forty-f…',
    });
    const six = { ...form, fields: Array.from({ length: 6 }, (_, i) => ({ ...form.fields[0]!, id: `n${i}` })) };
    const { got } = await started();
    got.answer = async () => ({ kind: 'form', form: six });
    adapters.shift()?.stop();
    await until('first adapter gone', () => [...fake.gateway.sessions.values()].filter((s) => s.socket).length === 1);
    expect(await fake.interact(2, '801', { id: '1', name: 'film', type: 1 })).toEqual({
      kind: 'private',
      text: 'That did not work just now. Please try again in a minute.',
    });
  });

  it('answers privately with long texts, a picture and buttons', async () => {
    await writeFile(join(folder, 'a.png'), tinyPng);
    const text = Array.from({ length: 60 }, (_, i) => `${i} ${'word '.repeat(12)}`.trim()).join('\n');
    const message = plainMessage(text, {
      files: [{ path: join(folder, 'a.png'), name: 'a.png', alt: 'From above' }],
      buttons: [button],
      mention: '602',
    });
    expect(await pressed(async () => ({ kind: 'private', message }))).toEqual({ kind: 'private', text });
    const [it] = fake.state.interactions.values();
    expect(it?.bodies.map((body) => (body.components as unknown[]).length)).toEqual([0, 1]);
    expect(it?.bodies.flatMap((body) => (body.allowed_mentions as { roles: string[] }).roles)).toEqual([]);
    expect([...fake.state.messages.values()]).toHaveLength(1);
  });

  it('registers commands in the servers of its channels, required fields first, names as Discord wants them', async () => {
    const field = (id: string, required: boolean) => ({ id, label: `The ${id}`, required, options: null });
    const { got } = await started([
      { name: 'ask-view', description: 'Ask for a view', fields: [field('note', false), field('liftName', true)] },
    ]);
    expect(fake.state.commands).toMatchObject([
      {
        name: 'ask-view',
        options: [
          { name: 'liftname', required: true },
          { name: 'note', required: false },
        ],
      },
    ]);
    await fake.interact(2, '801', {
      id: '1',
      name: 'ask-view',
      type: 1,
      options: [{ type: 3, name: 'liftname', value: 'squat' }],
    });
    expect(got.actions[0]?.values).toEqual({ liftName: 'squat' });
  });

  it('refuses a command name that Discord would not take', async () => {
    await expect(started([{ name: 'Ask View', description: 'x', fields: [] }])).rejects.toMatchObject({ code: 'refused' });
  });
});

describe('preflight of Discord', () => {
  const rows = async (more: Partial<DiscordOptions> = {}) => (await adapter(more).preflight()).filter((row) => !row.ok);

  it('finds the missing intent', async () => {
    fake.state.app.flags = 0;
    expect(await rows()).toMatchObject([
      { what: 'Discord: message content intent', fix: expect.stringContaining('Message Content Intent') },
    ]);
  });

  it('takes the intent of an unverified bot too', async () => {
    fake.state.app.flags = 1 << 18;
    expect(await rows()).toEqual([]);
  });

  it.each([
    ['for everyone', { id: '700', type: 0 as const }],
    ['for its role', { id: '601', type: 0 as const }],
    ['for itself', { id: '900', type: 1 as const }],
  ])('names permissions that a channel denies %s', async (_whom, who) => {
    const channel = fake.channel('801') as { permission_overwrites: unknown[] };
    // 6 add reactions, 35 create public threads.
    channel.permission_overwrites = [{ ...who, allow: '0', deny: String((1n << 6n) | (1n << 35n)) }];
    expect(await rows()).toMatchObject([
      {
        what: 'Discord: watched channel #lifts',
        found: 'missing: Create Public Threads, Add Reactions',
        fix: expect.stringContaining('Add Reactions'),
      },
    ]);
    channel.permission_overwrites.push({ id: '900', type: 1, allow: String((1n << 6n) | (1n << 35n)), deny: '0' });
    if (who.id !== '900') expect(await rows()).toEqual([]);
  });

  it('lets an administrator do all', async () => {
    fake.state.roles[1]!.permissions = String(1n << 3n);
    expect(await rows()).toEqual([]);
  });

  it('names a channel that is not there, no channel at all, and a refused token', async () => {
    expect(await rows({ channels: ['4711'] })).toMatchObject([
      { what: 'Discord: watched channel 4711', fix: expect.stringContaining('Invite the bot') },
    ]);
    expect(await rows({ channels: [] })).toMatchObject([{ what: 'Discord: watched channels' }]);
    expect(await rows({ token: 'MTAx.wrong.token' })).toMatchObject([
      { what: 'Discord: token', fix: expect.stringContaining('Reset Token') },
    ]);
  });

  it('agrees with the numbers in deploy/discord.md', async () => {
    const text = await readFile(new URL('../../../deploy/discord.md', import.meta.url), 'utf8');
    // Bits by Discord's permission table (Discord docs, permissions, bitwise permission flags).
    const bits = {
      view: 10n,
      history: 16n,
      send: 11n,
      sendInThreads: 38n,
      createThreads: 35n,
      react: 6n,
      attach: 15n,
      embed: 14n,
    };
    const sum = Object.values(bits).reduce((all, bit) => all | (1n << bit), 0n);
    expect(invitePermissions).toBe(sum);
    expect(text.match(/permissions=(\d+)/)?.[1]).toBe(String(sum));
    expect(text).toContain(`\`${sum}\``);
    for (const label of [
      'View Channels',
      'Read Message History',
      'Send Messages',
      'Create Public Threads',
      'Send Messages in Threads',
      'Add Reactions',
      'Attach Files',
      'Embed Links',
    ]) {
      expect(text).toContain(label);
    }
  });
});

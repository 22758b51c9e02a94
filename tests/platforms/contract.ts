/**
 * The promises of `src/platforms/port.ts`, as one suite for every platform.
 *
 * Usage, in `tests/platforms/<name>/contract.test.ts`:
 *
 * ```ts
 * import { describePlatform } from '../contract.ts';
 * describePlatform('slack', {
 *   can: { gap: false, faults: true, alt: true },   // what the platform's server at hand can act out; the rest shows as skipped
 *   slowMs: 400,                                    // a handler slower than the platform's time for a first answer
 *   create: async () => world,                      // a fresh server and an adapter that is not started yet
 * });
 * ```
 *
 * The world plays the platform's server and its people: it stores what the adapter sent, tells what readers would see, and
 * delivers what members do. It must fail on calls that the real platform would refuse. The suite starts the adapter itself,
 * closes the world after each test, and never looks at the platform's own formats.
 */
import { mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  type Action,
  type ActionReply,
  type Command,
  type IncomingMessage,
  type Mark,
  type MessageRef,
  type OutgoingMessage,
  type Platform,
  PlatformError,
  type PlatformEvents,
  type PlatformName,
} from '../../src/platforms/port.ts';

/** One member's message: the files' contents as bytes. `reply`: the message in whose thread it stands. */
export interface MemberPost {
  text: string;
  files: { name: string; contentType: string; body: Buffer }[];
  channel?: string;
  reply?: MessageRef;
  /** Posted by another bot or app instead of the member. */
  byBot?: boolean;
}

/** A message of ours as the platform's server stored it. */
export interface SeenMessage {
  ref: MessageRef;
  /** What a reader reads after the platform's own unescaping; bold stays as `**bold**`; mentions that would ping are left out. */
  text: string;
  files: { name: string; alt: string | null; body: Buffer }[];
  buttons: { id: string; label: string }[];
  choices: { id: string; values: string[] }[];
  /** Ids of people, roles or groups that would be notified; `everyone` for a channel-wide ping. */
  pings: string[];
}

/** What the person who pressed saw. */
export type SeenReply =
  | { kind: 'private'; text: string }
  | { kind: 'form'; id: string; title: string; fields: { id: string; label: string; required: boolean }[] }
  | { kind: 'nothing' };

/** A platform's server with its people, and an adapter connected to it. */
export interface World {
  /** The adapter under test, not started. Set marks, groups and channels to those below. */
  platform: Platform;
  /** Another adapter on the same server, as after a crash: nothing remembered. Not started; closed with the world. */
  again(): Promise<Platform>;
  /** The watched channel, the coaches' channel (known to the adapter, not watched) and one that is neither. */
  channel: string;
  coachChannel: string;
  otherChannel: string;
  /** A role or group that may be mentioned. */
  mention: string;
  /** The member who posts and presses. */
  member: { id: string; name: string; groups: string[] };
  /** Posts as the member and delivers the event. */
  postMember(post: MemberPost): Promise<MessageRef>;
  /** Edits the member's message (text and files as they are afterwards) and delivers the event. */
  editMember(ref: MessageRef, post: MemberPost): Promise<void>;
  /** Delivers the last event (message or press) once more, unchanged. */
  redeliver(): Promise<void>;
  /** The member presses a button, chooses, sends the open form or types a command; resolves with what they saw. */
  press(where: MessageRef, id: string): Promise<SeenReply>;
  choose(where: MessageRef, id: string, value: string): Promise<SeenReply>;
  submit(formId: string, values: Record<string, string>): Promise<SeenReply>;
  /** The newest private answer that the member got, and presses in it, as the platform delivers them: nobody else can see it. */
  answer: {
    /** `files`: names of those that came with it. */
    offers(): Pick<SeenMessage, 'buttons' | 'choices'> & { files: string[] };
    press(id: string): Promise<SeenReply>;
    choose(id: string, value: string): Promise<SeenReply>;
  };
  command(channel: string, name: string, values: Record<string, string>): Promise<SeenReply>;
  /** Our messages in a channel and its threads, oldest first. */
  seen(channel: string): Promise<SeenMessage[]>;
  /** Our marks on a message. */
  marks(ref: MessageRef): Promise<Mark[]>;
  /** From now on the files of this message come as an HTML page with status 200. */
  loginPage(ref: MessageRef): Promise<void>;
  /** The message is deleted by its author; no event need be delivered. */
  deleteMember(ref: MessageRef): Promise<void>;
  /** `can.gap`: the line breaks so that events are lost, `meanwhile` runs, the line comes back. */
  gap(meanwhile: () => Promise<void>): Promise<void>;
  /** `can.faults`: the next message sent by the adapter is answered with a rate limit (a short wait), a 5xx, or stored while its answer is lost. */
  fault(kind: 'rate-limited' | 'unavailable' | 'answer-lost'): Promise<void>;
  /** Stops server and adapters; throws when the adapter did something that the platform refuses. */
  close(): Promise<void>;
}

export interface Harness {
  can: { gap: boolean; faults: boolean; alt: boolean };
  /** Milliseconds: longer than the first-answer time with which `create` sets server and adapter up. */
  slowMs: number;
  create(): Promise<World>;
}

/** Size and form of a small PNG (1 x 1) and of an mp4's first box: enough for checks of magic bytes. */
export const tinyPng = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==',
  'base64',
);
export const tinyMp4 = Buffer.concat([
  Buffer.from('00000018667479706d703432000000006d70343269736f6d', 'hex'),
  Buffer.alloc(4000, 7),
]);

export const plainMessage = (text: string, more: Partial<OutgoingMessage> = {}): OutgoingMessage => ({
  text,
  files: [],
  buttons: [],
  choices: [],
  mention: null,
  ...more,
});

/** Records what an adapter delivers; `answer` decides the reply to actions. */
export function recordEvents(): {
  messages: IncomingMessage[];
  actions: Action[];
  gaps: number;
  lines: (PlatformError | null)[];
  answer: (action: Action) => Promise<ActionReply>;
  events: PlatformEvents;
} {
  const events: PlatformEvents = {
    onMessage: async (message) => void record.messages.push(message),
    onAction: async (action) => {
      record.actions.push(action);
      return record.answer(action);
    },
    onGap: async (_platform: PlatformName) => void record.gaps++,
    onLine: (_platform, fault) => void record.lines.push(fault),
  };
  const record: ReturnType<typeof recordEvents> = {
    messages: [],
    actions: [],
    gaps: 0,
    lines: [],
    answer: async () => ({ kind: 'nothing' }),
    events,
  };
  return record;
}

/** Waits until `value` yields something true; fails after 5 s with what was awaited. */
export async function until<T>(
  what: string,
  value: () => T | Promise<T>,
): Promise<Exclude<T, false | 0 | '' | null | undefined>> {
  const end = performance.now() + 5000;
  for (;;) {
    const got = await value();
    if (got) return got as Exclude<T, false | 0 | '' | null | undefined>;
    if (performance.now() > end) throw new Error(`waited in vain: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

const clip = (name = 'squat.mp4') => ({ name, contentType: 'video/mp4', body: tinyMp4 });

const commands: Command[] = [
  {
    name: 'film',
    description: 'How to film a lift',
    fields: [
      {
        id: 'lift',
        label: 'Which lift',
        required: true,
        options: [
          { value: 'squat', label: 'Squat' },
          { value: 'bench', label: 'Bench press' },
        ],
      },
      { id: 'note', label: 'Anything else', required: false, options: null },
    ],
  },
];

/** Runs the port's promises against one platform; see the top of this file. */
export function describePlatform(name: PlatformName, harness: Harness): void {
  describe(`${name} keeps the platform port's promises`, () => {
    const never = new AbortController().signal;
    let world: World;
    let got: ReturnType<typeof recordEvents>;
    let folder: string;

    beforeEach(async () => {
      folder = await mkdtemp(join(tmpdir(), 'qv-contract-'));
      world = await harness.create();
      got = recordEvents();
      await world.platform.start(got.events, commands, never);
    });
    afterEach(async () => {
      await rm(folder, { recursive: true, force: true });
      await world.close();
    });

    const fileOf = async (file: string, body: Buffer) => {
      await writeFile(join(folder, file), body);
      return join(folder, file);
    };
    const refusal = (work: Promise<unknown>) =>
      work.then(
        () => Promise.reject(new Error('should have been refused')),
        (error: unknown) => {
          if (!(error instanceof PlatformError)) throw error;
          return error;
        },
      );
    const people = () => got.messages.filter((m) => !m.author.isBot);

    it('says its name and asks for the backfill at start', async () => {
      expect(world.platform.name).toBe(name);
      expect(world.platform.maxFileBytes).toBeGreaterThan(1_000_000);
      await until('gap at start', () => got.gaps > 0);
    });

    it('passes a message with two clips, its author and text', async () => {
      const ref = await world.postMember({
        text: 'Squat 100 kg x 5, <depth> & "tempo"?',
        files: [clip('one.mp4'), clip('two.mp4')],
      });
      const [message] = await until('message', () => got.messages.length > 0 && got.messages);
      expect(message?.ref).toEqual(ref);
      expect(message?.ref.thread).toBeNull();
      expect(message?.threadStart).toBeNull();
      expect(message?.text).toBe('Squat 100 kg x 5, <depth> & "tempo"?');
      expect(message?.author).toMatchObject({ platform: name, ...world.member, isBot: false });
      expect(message?.files.map((f) => f.name)).toEqual(['one.mp4', 'two.mp4']);
      expect(new Set(message?.files.map((f) => f.id)).size).toBe(2);
      expect(message?.sentAtMs).toBeGreaterThan(1_500_000_000_000);
    });

    it('passes an edit that adds a clip under the same ref', async () => {
      const ref = await world.postMember({ text: 'clip follows', files: [] });
      await world.editMember(ref, { text: 'here it is', files: [clip()] });
      const edited = await until('edit', () => got.messages.find((m) => m.files.length === 1));
      expect(edited.ref).toEqual(ref);
      expect(edited.text).toBe('here it is');
    });

    it('names the start of the thread in a reply', async () => {
      const start = await world.postMember({ text: 'take one', files: [clip()] });
      await world.platform.post({ channel: world.channel, message: start }, plainMessage('Seen.'), 'k-1', never);
      const reply = await world.postMember({ text: 'take two', files: [clip('two.mp4')], reply: start });
      const message = await until('reply', () => got.messages.find((m) => m.text === 'take two'));
      expect(message.ref).toEqual(reply);
      expect(message.ref.channel).toBe(world.channel);
      expect(message.ref.thread).not.toBeNull();
      expect(message.threadStart).toEqual(start);
    });

    it('keeps silent about other channels and never passes bots or itself as people', async () => {
      await world.postMember({ text: 'elsewhere', files: [clip()], channel: world.otherChannel });
      await world.postMember({ text: 'from a machine', files: [clip()], byBot: true });
      await world.platform.post({ channel: world.channel, message: null }, plainMessage('from us'), 'k-1', never);
      await world.postMember({ text: 'last', files: [clip()] });
      await until('last', () => got.messages.some((m) => m.text === 'last'));
      expect(people().map((m) => m.text)).toEqual(['last']);
    });

    it('delivers a repeated event with the same ref', async () => {
      await world.postMember({ text: 'once', files: [clip()] });
      await world.redeliver();
      await world.postMember({ text: 'after', files: [] });
      await until('after', () => got.messages.some((m) => m.text === 'after'));
      expect(new Set(got.messages.filter((m) => m.text === 'once').map((m) => m.ref.message)).size).toBe(1);
    });

    it('reads history after a message, oldest first, threads included, up to a limit', async () => {
      const one = await world.postMember({ text: 'one', files: [clip()] });
      await world.postMember({ text: 'words only', files: [] });
      await world.platform.post({ channel: world.channel, message: one }, plainMessage('ours'), 'k-1', never);
      await world.postMember({ text: 'two', files: [clip()], reply: one });
      await world.postMember({ text: 'three', files: [clip()] });
      const texts = async (after: string | null, limit: number) =>
        (await world.platform.history(world.channel, after, limit, never)).filter((m) => !m.author.isBot).map((m) => m.text);
      expect(await texts(null, 50)).toEqual(['one', 'two', 'three']);
      expect(await texts(one.message, 50)).toEqual(['two', 'three']);
      expect(await texts(one.message, 1)).toEqual(['two']);
      const found = await world.platform.history(world.channel, one.message, 50, never);
      const live = await until('live reply', () => got.messages.find((m) => m.text === 'two'));
      expect(found.find((m) => m.text === 'two')).toEqual(live);
    });

    it('fetches a file byte for byte, also through an adapter that never saw its event', async () => {
      await world.postMember({ text: 'clip', files: [clip()] });
      const message = await until('message', () => got.messages[0]);
      for (const [i, platform] of [world.platform, await world.again()].entries()) {
        const path = join(folder, `fetched-${i}`);
        await platform.fetchFile(message.ref, message.files[0]!, path, 1_000_000, never);
        expect(await readFile(path)).toEqual(tinyMp4);
      }
    });

    it('refuses a file over the cap and leaves nothing behind', async () => {
      await world.postMember({ text: 'clip', files: [clip()] });
      const message = await until('message', () => got.messages[0]);
      const path = join(folder, 'fetched');
      for (const bytes of [message.files[0]!.bytes, null]) {
        const error = await refusal(
          world.platform.fetchFile(message.ref, { ...message.files[0]!, bytes }, path, tinyMp4.length - 1, never),
        );
        expect(error).toMatchObject({ code: 'refused', retry: { final: true } });
        await expect(stat(path)).rejects.toThrow();
      }
    });

    it('refuses a page in place of the file', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      const message = await until('message', () => got.messages[0]);
      await world.loginPage(ref);
      const path = join(folder, 'fetched');
      const error = await refusal(world.platform.fetchFile(message.ref, message.files[0]!, path, 1_000_000, never));
      expect(['not-ready', 'refused']).toContain(error.code);
      await expect(stat(path)).rejects.toThrow();
    });

    it('says gone when the message of a file was deleted', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      const message = await until('message', () => got.messages[0]);
      await world.deleteMember(ref);
      const error = await refusal(world.platform.fetchFile(message.ref, message.files[0]!, join(folder, 'f'), 1_000_000, never));
      expect(error).toMatchObject({ code: 'gone', retry: { final: true } });
    });

    it('sets exactly the marks asked for, again and again', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      await world.platform.setMarks(ref, ['seen'], never);
      await world.platform.setMarks(ref, ['seen'], never);
      expect(await world.marks(ref)).toEqual(['seen']);
      await (await world.again()).setMarks(ref, ['fix'], never);
      expect(await world.marks(ref)).toEqual(['fix']);
      await world.platform.setMarks(ref, ['clean', 'done'], never);
      expect((await world.marks(ref)).sort()).toEqual(['clean', 'done']);
      await world.platform.setMarks(ref, [], never);
      expect(await world.marks(ref)).toEqual([]);
    });

    it('posts into the thread of a message with picture, alt text, clip, buttons and a choice', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      const message = plainMessage('**Film again.** Step to the rear quarter.\nCamera at head height.', {
        files: [
          { path: await fileOf('view.png', tinyPng), name: 'view.png', alt: 'Where to stand, from above' },
          { path: await fileOf('cut.mp4', tinyMp4), name: 'cut.mp4', alt: null },
        ],
        buttons: [
          { id: 'trim:use:17', label: 'Use the trimmed clip', style: 'good' },
          { id: 'appeal:17', label: 'Send to a coach', style: 'plain' },
        ],
        choices: [
          {
            id: 'view:17',
            label: 'View',
            options: [
              { value: 'rear', label: 'Rear' },
              { value: 'side', label: 'Side' },
            ],
          },
        ],
      });
      const posted = await world.platform.post({ channel: world.channel, message: ref }, message, 'k-1', never);
      expect(posted).toMatchObject({ platform: name, channel: world.channel });
      expect(posted.thread).not.toBeNull();
      const seen = await world.seen(world.channel);
      expect(seen).toHaveLength(1);
      expect(seen[0]).toMatchObject({
        ref: posted,
        text: message.text,
        buttons: [
          { id: 'trim:use:17', label: 'Use the trimmed clip' },
          { id: 'appeal:17', label: 'Send to a coach' },
        ],
        choices: [{ id: 'view:17', values: ['rear', 'side'] }],
        pings: [],
      });
      expect(seen[0]?.files.map((f) => f.body)).toEqual([tinyPng, tinyMp4]);
      expect(seen[0]?.files.map((f) => f.name)).toEqual(['view.png', 'cut.mp4']);
      if (harness.can.alt) expect(seen[0]?.files[0]?.alt).toBe('Where to stand, from above');
      const next = await world.platform.post({ channel: world.channel, message: ref }, plainMessage('Second.'), 'k-2', never);
      const inside = await world.platform.post({ channel: world.channel, message: next }, plainMessage('Third.'), 'k-3', never);
      expect([next.thread, inside.thread]).toEqual([posted.thread, posted.thread]);
    });

    it('posts at channel level', async () => {
      const posted = await world.platform.post(
        { channel: world.coachChannel, message: null },
        plainMessage('One waits.'),
        'k-1',
        never,
      );
      expect(posted.thread).toBeNull();
      expect((await world.seen(world.coachChannel)).map((m) => m.ref)).toEqual([posted]);
    });

    it('posts once under one key: again, at the same time, and after a crash', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      const targets = [
        { channel: world.channel, message: ref },
        { channel: world.coachChannel, message: null },
      ];
      for (const [i, to] of targets.entries()) {
        const post = (platform: Platform) => platform.post(to, plainMessage('Only once.'), `answer-${i}`, never);
        const [first, twin] = await Promise.all([post(world.platform), post(world.platform)]);
        expect(twin).toEqual(first);
        expect(await post(world.platform)).toEqual(first);
        expect(await post(await world.again())).toEqual(first);
        expect(await world.seen(to.channel)).toHaveLength(1);
        const other = await world.platform.post(to, plainMessage('Only once.'), `other-${i}`, never);
        expect(other).not.toEqual(first);
      }
    });

    it('shows hostile text as text and pings nobody', async () => {
      const hostile = [
        '@everyone @here <@1> <@!1> <@&2> <#3> <!channel> <!here> <@U1> <!subteam^S1> @channel',
        '*a* _b_ ~c~ ~~d~~ `e` ```f``` ||g|| > h [i](https://example.org) <https://example.org|j> :k: # l',
        '# title',
        '> quote',
        '- list',
        '&amp; &lt;b&gt; <b>bold</b> <script>1</script> \\ \\* a**b',
      ].join('\n');
      await world.platform.post({ channel: world.channel, message: null }, plainMessage(hostile), 'k-1', never);
      await world.platform.post(
        { channel: world.channel, message: null },
        plainMessage('a\u202Eb\u2066c\u0007d\u200Fe'),
        'k-2',
        never,
      );
      const seen = await world.seen(world.channel);
      expect(seen.map((m) => m.pings)).toEqual([[], []]);
      expect(seen.map((m) => m.text)).toEqual([hostile, 'abcde']);
    });

    it('mentions the given group and nobody else', async () => {
      const message = plainMessage('@everyone <@1> a clip waits', { mention: world.mention });
      await world.platform.post({ channel: world.coachChannel, message: null }, message, 'k-1', never);
      expect((await world.seen(world.coachChannel))[0]?.pings).toEqual([world.mention]);
    });

    it('keeps every line of a long text, once and in order', async () => {
      const ref = await world.postMember({ text: 'clip', files: [clip()] });
      const lines = Array.from({ length: 90 }, (_, i) => `${i}. *${'word '.repeat(10)}*`.trim());
      const post = () =>
        world.platform.post({ channel: world.channel, message: ref }, plainMessage(lines.join('\n')), 'k-1', never);
      const posted = await post();
      expect(await post()).toEqual(posted);
      const shown = (await world.seen(world.channel)).map((m) => m.text).join('\n');
      expect(shown.split('\n')).toEqual(lines);
    });

    it('edits and removes what it posted; removing twice is harmless', async () => {
      const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
      const posted = await world.platform.post(
        { channel: world.channel, message: null },
        plainMessage('2nd in line', { buttons: [button] }),
        'k-1',
        never,
      );
      await world.platform.edit(posted, plainMessage('being measured'), never);
      expect(await world.seen(world.channel)).toMatchObject([{ ref: posted, text: 'being measured', buttons: [] }]);
      const card = await world.platform.post(
        { channel: world.coachChannel, message: null },
        plainMessage('card', {
          files: [{ path: await fileOf('reps.png', tinyPng), name: 'reps.png', alt: 'Reps' }],
          buttons: [button],
          mention: world.mention,
        }),
        'k-2',
        never,
      );
      await world.platform.edit(card, plainMessage('card, taken', { buttons: [{ ...button, id: 'done:1' }] }), never);
      const [edited] = await world.seen(world.coachChannel);
      expect(edited).toMatchObject({ ref: card, text: 'card, taken', buttons: [{ id: 'done:1' }], pings: [] });
      expect(edited?.files.map((f) => [f.name, f.body])).toEqual([['reps.png', tinyPng]]);
      await world.platform.remove(posted, never);
      await world.platform.remove(posted, never);
      expect(await world.seen(world.channel)).toEqual([]);
      expect(await refusal(world.platform.edit(posted, plainMessage('late'), never))).toMatchObject({
        code: 'gone',
        retry: { final: true },
      });
    });

    it('carries a press, its person and place, and shows the answer to that person only', async () => {
      const button = { id: 'appeal:17', label: 'Send to a coach', style: 'plain' as const };
      const choice = {
        id: 'reason:17',
        label: 'Reason',
        options: [
          { value: 'view', label: 'View' },
          { value: 'light', label: 'Light' },
        ],
      };
      const card = await world.platform.post(
        { channel: world.coachChannel, message: null },
        plainMessage('card', { buttons: [button], choices: [choice] }),
        'k-1',
        never,
      );
      got.answer = async () => ({ kind: 'private', message: plainMessage('Sent to a *coach*.') });
      expect(await world.press(card, 'appeal:17')).toEqual({ kind: 'private', text: 'Sent to a *coach*.' });
      expect(got.actions[0]).toMatchObject({
        kind: 'button',
        id: 'appeal:17',
        where: card,
        channel: world.coachChannel,
        person: { platform: name, ...world.member },
      });
      got.answer = async () => ({ kind: 'nothing' });
      expect(await world.choose(card, 'reason:17', 'light')).toEqual({ kind: 'nothing' });
      expect(got.actions[1]).toMatchObject({ kind: 'choice', id: 'reason:17', where: card, values: { 'reason:17': 'light' } });
      expect(new Set(got.actions.map((a) => a.pressId)).size).toBe(2);
      expect(await world.seen(world.coachChannel)).toHaveLength(1);
    });

    it('gives a press that is delivered twice the same id', async () => {
      const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
      const card = await world.platform.post(
        { channel: world.coachChannel, message: null },
        plainMessage('card', { buttons: [button] }),
        'k-1',
        never,
      );
      await world.press(card, 'take:1');
      await world.redeliver();
      await until('second delivery', () => got.actions.length > 1);
      expect(new Set(got.actions.map((a) => a.pressId)).size).toBe(1);
    });

    it('opens a form on a press and carries what was filled in', async () => {
      const button = { id: 'ask:17', label: 'Ask for another view', style: 'plain' as const };
      const card = await world.platform.post(
        { channel: world.coachChannel, message: null },
        plainMessage('card', { buttons: [button] }),
        'k-1',
        never,
      );
      got.answer = async (action) =>
        action.kind === 'form'
          ? { kind: 'private', message: plainMessage('Asked.') }
          : {
              kind: 'form',
              form: {
                id: 'request:17',
                title: 'Ask for another view',
                fields: [
                  {
                    id: 'view',
                    label: 'View',
                    required: true,
                    hint: 'Where the camera should stand',
                    kind: 'choice',
                    options: [
                      { value: 'front', label: 'Front' },
                      { value: 'side', label: 'Side' },
                    ],
                  },
                  {
                    id: 'note',
                    label: 'Note to the member',
                    required: false,
                    hint: 'One line',
                    kind: 'text',
                    lines: 'many',
                    maxLength: 300,
                  },
                ],
              },
            };
      expect(await world.press(card, 'ask:17')).toEqual({
        kind: 'form',
        id: 'request:17',
        title: 'Ask for another view',
        fields: [
          { id: 'view', label: 'View', required: true },
          { id: 'note', label: 'Note to the member', required: false },
        ],
      });
      expect(await world.submit('request:17', { view: 'side', note: 'for the back angle' })).toEqual({
        kind: 'private',
        text: 'Asked.',
      });
      expect(got.actions.at(-1)).toMatchObject({
        kind: 'form',
        id: 'request:17',
        where: card,
        values: { view: 'side', note: 'for the back angle' },
      });
    });

    it('carries a command with its fields', async () => {
      got.answer = async () => ({ kind: 'private', message: plainMessage('From the rear quarter.') });
      expect(await world.command(world.channel, 'film', { lift: 'squat', note: 'low gym' })).toEqual({
        kind: 'private',
        text: 'From the rear quarter.',
      });
      expect(got.actions).toMatchObject([
        {
          kind: 'command',
          id: 'film',
          where: null,
          channel: world.channel,
          values: { lift: 'squat', note: 'low gym' },
          person: world.member,
        },
      ]);
      got.answer = async () => ({ kind: 'nothing' });
      expect(await world.command(world.channel, 'film', { lift: 'bench' })).toEqual({ kind: 'nothing' });
      expect(got.actions[1]?.values).toEqual({ lift: 'bench' });
    });

    it('carries presses in an answer that one person alone sees', async () => {
      const button = { id: 'apply:17', label: 'Apply', style: 'good' as const };
      const options = [
        { value: 'view', label: 'View' },
        { value: 'light', label: 'Light' },
      ];
      const message = plainMessage('What would change', { buttons: [button], choices: [{ id: 'rule', label: 'Rule', options }] });
      got.answer = async () => ({ kind: 'private', message });
      await world.command(world.channel, 'film', { lift: 'squat' });
      expect(world.answer.offers()).toEqual({
        buttons: [{ id: 'apply:17', label: 'Apply' }],
        choices: [{ id: 'rule', values: ['view', 'light'] }],
        files: [],
      });
      expect(await world.answer.choose('rule', 'light')).toEqual({ kind: 'private', text: 'What would change' });
      const field = {
        id: 'why',
        label: 'Why',
        required: true,
        hint: '',
        kind: 'text' as const,
        lines: 'one' as const,
        maxLength: 50,
      };
      got.answer = async () => ({ kind: 'form', form: { id: 'apply:17', title: 'Apply', fields: [field] } });
      expect(await world.answer.press('apply:17')).toMatchObject({ kind: 'form', id: 'apply:17' });
      got.answer = async () => ({ kind: 'private', message: plainMessage('Applied.') });
      expect(await world.submit('apply:17', { why: 'too strict' })).toEqual({ kind: 'private', text: 'Applied.' });
      expect(world.answer.offers()).toEqual({ buttons: [], choices: [], files: [] });
      const alike = { where: null, channel: world.channel, person: { platform: name, ...world.member } };
      expect(got.actions.slice(1)).toMatchObject([
        { ...alike, kind: 'choice', id: 'rule', values: { rule: 'light' } },
        { ...alike, kind: 'button', id: 'apply:17', values: {} },
        { ...alike, kind: 'form', id: 'apply:17', values: { why: 'too strict' } },
      ]);
      expect(new Set(got.actions.map((action) => action.pressId)).size).toBe(4);
      expect(await world.seen(world.channel)).toEqual([]);
    });

    it('answers a slow action all the same', async () => {
      got.answer = async () => {
        await new Promise((resolve) => setTimeout(resolve, harness.slowMs));
        return { kind: 'private', message: plainMessage('Took a while.') };
      };
      expect(await world.command(world.channel, 'film', { lift: 'squat' })).toEqual({ kind: 'private', text: 'Took a while.' });
    });

    it('lives on when a handler throws', async () => {
      got.answer = async () => {
        throw new Error('ledger away');
      };
      await world.command(world.channel, 'film', { lift: 'squat' });
      got.answer = async () => ({ kind: 'private', message: plainMessage('Here.') });
      expect(await world.command(world.channel, 'film', { lift: 'squat' })).toEqual({ kind: 'private', text: 'Here.' });
    });

    it('stops at once when told to and delivers nothing afterwards', async () => {
      await world.platform.stop();
      await world.postMember({ text: 'late', files: [clip()] }).catch(() => undefined);
      expect(got.messages.filter((m) => m.text === 'late')).toEqual([]);
    });

    it('gives up a wait when the signal aborts', async () => {
      const aborted = AbortSignal.abort();
      await expect(
        world.platform.post({ channel: world.channel, message: null }, plainMessage('no'), 'k-1', aborted),
      ).rejects.toThrow();
      expect(await world.seen(world.channel)).toEqual([]);
    });

    it('finds nothing wrong in its preflight when all is well', async () => {
      const rows = await world.platform.preflight();
      expect(rows.length).toBeGreaterThan(0);
      expect(rows.filter((row) => !row.ok)).toEqual([]);
      for (const row of rows)
        expect(row).toMatchObject({ what: expect.stringMatching(/\S/), found: expect.stringMatching(/\S/) });
    });

    it.runIf(harness.can.gap)('asks for a backfill after a gap and finds what was missed', async () => {
      const before = await world.postMember({ text: 'before', files: [clip()] });
      await until('before', () => got.messages.length > 0);
      const gaps = await until('gap at start', () => got.gaps);
      await world.gap(async () => void (await world.postMember({ text: 'missed', files: [clip()] })));
      await until('gap', () => got.gaps > gaps);
      const found = await world.platform.history(world.channel, before.message, 50, never);
      expect(found.map((m) => m.text)).toEqual(['missed']);
      await world.postMember({ text: 'live again', files: [clip()] });
      await until('live again', () => got.messages.some((m) => m.text === 'live again'));
    });

    for (const kind of ['rate-limited', 'unavailable', 'answer-lost'] as const) {
      it.runIf(harness.can.faults)(`posts once when the platform is ${kind}`, async () => {
        const ref = await world.postMember({ text: 'clip', files: [clip()] });
        const post = () =>
          world.platform.post({ channel: world.channel, message: ref }, plainMessage('Only once.'), 'k-1', never);
        await world.fault(kind);
        const posted = await post().catch((error: unknown) => {
          if (!(error instanceof PlatformError) || error.retry.final) throw error;
          return post();
        });
        expect((await world.seen(world.channel)).map((m) => m.ref)).toEqual([posted]);
      });
    }
  });
}

import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MessageRef, Platform } from '../../../src/platforms/port.ts';
import { createRoom } from '../../../src/platforms/room/room.ts';
import { type MemberPost, plainMessage, type SeenReply, type World } from '../platform-world.ts';
import { bytesOf, enter, journal, nonce, type Seen } from './page-client.ts';

type Private = { kind: 'private'; key: string; text: string } & Pick<Seen, 'buttons' | 'choices' | 'files'>;
type Reply = { kind: 'nothing' } | Private | { kind: 'form'; key: string; id: string };

/** Buttons and choices as tests look at them. */
const offersOf = ({ buttons, choices }: Pick<Seen, 'buttons' | 'choices'>) => ({
  buttons: buttons.map(({ id, label }) => ({ id, label })),
  choices: choices.map(({ id, options }) => ({ id, values: options.map((o) => o.value) })),
});

/** A room with one person in it, a coach, for the contract suites. */
export async function createWorld(): Promise<World> {
  const folder = await mkdtemp(join(tmpdir(), 'qv-room-'));
  const channels = { clips: 'clips', coaches: 'coaches', moderators: 'moderators' };
  const room = createRoom({ dataFolder: folder, port: 0, channels });
  const others: Platform[] = [];
  const never = new AbortController().signal;
  const refOf = (m: Seen): MessageRef => ({ platform: 'room', channel: m.channel, message: m.id, thread: m.thread });
  let page: Awaited<ReturnType<typeof enter>> | null = null;
  // The suite presses buttons in the coaches' channel, so the person who acts is a coach: a member may not see it.
  const client = async () => {
    page ??= await enter(room.address() ?? '', 'ilse');
    return page;
  };
  let last: () => Promise<unknown> = async () => {};
  let openForm = '';
  let answer: Private | null = null;

  const uploads = async (post: MemberPost) => {
    const keys: string[] = [];
    for (const file of post.files) keys.push((await (await client()).upload(file.name, file.contentType, file.body)).body.key);
    return keys;
  };
  const act = async (body: Record<string, unknown>): Promise<SeenReply> => {
    const { ask } = await client();
    const send = () => ask<Reply>('POST', '/actions', body);
    last = send;
    const { status, body: reply } = await send();
    if (status !== 200) return { kind: 'nothing' };
    if (reply.kind === 'private') answer = reply;
    if (reply.kind === 'private') return { kind: 'private', text: reply.text };
    if (reply.kind === 'nothing') return { kind: 'nothing' };
    openForm = reply.key;
    const { id, title, fields } = reply as unknown as Extract<SeenReply, { kind: 'form' }>;
    return { kind: 'form', id, title, fields: fields.map((f) => ({ id: f.id, label: f.label, required: f.required })) };
  };

  return {
    platform: room,
    again: async () => {
      const other = createRoom({ dataFolder: folder, port: 0, channels });
      others.push(other);
      return other;
    },
    channel: 'clips',
    coachChannel: 'coaches',
    otherChannel: 'kitchen',
    mention: 'coach',
    member: { id: 'ilse', name: 'Ilse', groups: ['coach'] },
    postMember: async (post) => {
      if (post.byBot) return room.post({ channel: 'clips', message: null }, plainMessage(post.text), nonce(), never);
      const { ask } = await client();
      const files = await uploads(post);
      const body = {
        channel: post.channel ?? 'clips',
        thread: post.reply?.message ?? null,
        text: post.text,
        files,
        nonce: nonce(),
      };
      const send = () => ask<Seen>('POST', '/messages', body);
      last = send;
      const answer = await send();
      // The room has no channels but its own: there is nothing to post to.
      if (post.channel === 'kitchen' && answer.status === 403)
        return { platform: 'room', channel: 'kitchen', message: '0', thread: null };
      if (answer.status !== 200) throw new Error(answer.body.message);
      return refOf(answer.body);
    },
    editMember: async (ref, post) => {
      const files = await uploads(post);
      await (await client()).ask('PUT', `/messages/${ref.message}`, { text: post.text, files });
    },
    redeliver: async () => void (await last()),
    press: (where, id) => act({ kind: 'button', id, message: where.message, nonce: nonce(), values: {} }),
    choose: (where, id, value) => act({ kind: 'choice', id, message: where.message, nonce: nonce(), values: { [id]: value } }),
    submit: (id, values) => act({ kind: 'form', id, key: openForm, nonce: nonce(), values }),
    answer: {
      offers: () => ({
        ...offersOf(answer ?? { buttons: [], choices: [] }),
        files: (answer?.files ?? []).map(({ name }) => name),
      }),
      press: (id) => act({ kind: 'button', id, key: answer?.key, nonce: nonce(), values: {} }),
      choose: (id, value) => act({ kind: 'choice', id, key: answer?.key, nonce: nonce(), values: { [id]: value } }),
    },
    command: (channel, id, values) => act({ kind: 'command', id, channel, nonce: nonce(), values }),
    seen: async (channel) => {
      const messages = await (await client()).messages(channel);
      return Promise.all(
        messages
          .filter((m) => m.author.role === 'bot')
          .map(async (m) => ({
            ref: refOf(m),
            text: m.text,
            files: await Promise.all(
              m.files.map(async (f) => ({ name: f.name, alt: f.alt, body: await bytesOf(room.address() ?? '', f) })),
            ),
            ...offersOf(m),
            pings: m.mention === null ? [] : [m.mention],
          })),
      );
    },
    marks: async (ref) => ((await (await client()).messages('clips')).find((m) => m.id === ref.message)?.marks ?? []) as never,
    loginPage: async (ref) => {
      const lines = (await journal(folder)).map(
        (line) => JSON.parse(line) as { message?: { id: string; files: { id: string }[] } },
      );
      const file = lines.findLast((line) => line.message?.id === ref.message)?.message?.files[0]?.id ?? '';
      if (!(await readdir(join(folder, 'files'))).includes(file)) throw new Error('no such file');
      await writeFile(join(folder, 'files', file), '<!doctype html><title>Sign in</title>');
    },
    deleteMember: async (ref) => void (await (await client()).ask('DELETE', `/messages/${ref.message}`)),
    gap: () => Promise.reject(new Error('one process: no line that can break')),
    fault: () => Promise.reject(new Error('one process: no line that can break')),
    close: async () => {
      for (const one of [room, ...others]) await one.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

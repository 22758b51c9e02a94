import { writeFile } from 'node:fs/promises';
import {
  type Action,
  type ActionReply,
  type IncomingFile,
  type IncomingMessage,
  type Mark,
  type MessageRef,
  type OutgoingMessage,
  type Platform,
  PlatformError,
  type PlatformEvents,
  type PlatformName,
} from '../../src/platforms/port.ts';

interface Posted {
  ref: MessageRef;
  to: { channel: string; message: MessageRef | null };
  message: OutgoingMessage;
  key: string;
  removed: boolean;
  edits: string[];
  /** As it stands now; files stay in an edit without any. */
  now: OutgoingMessage;
}

type Call = 'start' | 'fetchFile' | 'setMarks' | 'post' | 'edit' | 'remove' | 'history';

/** What happens instead of the next such call: an error before the effect, or after it (the answer is lost). */
interface Fault {
  call: Call;
  when: 'before' | 'after';
  error: PlatformError;
}

/** The server side of a platform in memory: it outlives the adapters, as a real one outlives the bot. */
export function createWorld(name: PlatformName = 'room') {
  const posts: Posted[] = [];
  const marks = new Map<string, Mark[]>();
  const marksSeen: string[] = [];
  const messages: IncomingMessage[] = [];
  const bodies = new Map<string, string>();
  const faults: Fault[] = [];
  let events: PlatformEvents | null = null;
  let n = 0;

  async function act<T>(call: Call, effect: () => T | Promise<T>): Promise<T> {
    const at = faults.findIndex((fault) => fault.call === call);
    const fault = at < 0 ? undefined : faults.splice(at, 1)[0];
    if (fault?.when === 'before') throw fault.error;
    const result = await effect();
    if (fault !== undefined) throw fault.error;
    return result;
  }

  const adapter = (): Platform => ({
    name,
    maxFileBytes: 10_000,
    start: (to) =>
      act('start', async () => {
        events = to;
        await to.onGap(name);
      }),
    async stop() {
      events = null;
    },
    preflight: async () => [],
    history: (channel, after, limit) =>
      act('history', () => {
        const inChannel = messages.filter((m) => m.ref.channel === channel);
        return inChannel.slice(inChannel.findIndex((m) => m.ref.message === after) + 1).slice(0, limit);
      }),
    fetchFile: (_, file, path) => act('fetchFile', () => writeFile(path, bodies.get(file.id) ?? '')),
    setMarks: (ref, next) =>
      act('setMarks', () => {
        marks.set(ref.message, next);
        marksSeen.push(`${ref.message}:${next.join('+')}`);
      }),
    post: (to, message, key) =>
      act('post', () => {
        const earlier = posts.find((post) => post.key === key);
        if (earlier !== undefined) return earlier.ref;
        n += 1;
        const ref = {
          platform: name,
          channel: to.channel,
          message: `bot-${n}`,
          thread: to.message?.thread ?? to.message?.message ?? null,
        };
        posts.push({ ref, to, message, key, removed: false, edits: [], now: message });
        return ref;
      }),
    edit: (ref, next) =>
      act('edit', () => {
        const post = posts.find((one) => one.ref.message === ref.message);
        if (post === undefined) return;
        post.edits.push(next.text);
        post.now = { ...next, files: next.files.length === 0 ? post.now.files : next.files };
      }),
    remove: (ref) =>
      act('remove', () => {
        const post = posts.find((one) => one.ref.message === ref.message);
        if (post === undefined || post.removed)
          throw new PlatformError('gone', 'no such message', { final: true, retryAfterMs: null });
        post.removed = true;
      }),
  });

  return {
    adapter,
    posts,
    marks,
    marksSeen,
    faults,
    messages,
    /** What stands under a message, oldest first. */
    replies: (ref: MessageRef) => posts.filter((post) => !post.removed && post.to.message?.message === ref.message),
    inChannel: (channel: string) =>
      posts.filter((post) => !post.removed && post.to.message === null && post.to.channel === channel),
    fail(
      call: Call,
      when: Fault['when'],
      code: PlatformError['code'],
      retry: PlatformError['retry'] = { final: false, retryAfterMs: null },
    ) {
      faults.push({ call, when, error: new PlatformError(code, code, retry) });
    },
    /** A member's message; each clip is the text that the stand-in for measuring reads. `told`: whether the event arrives. */
    async say(
      clips: string[],
      more: {
        text?: string;
        by?: string;
        channel?: string;
        reply?: MessageRef;
        isBot?: boolean;
        told?: boolean;
        sentAtMs?: number;
        names?: string[];
      } = {},
    ) {
      n += 1;
      const id = `m-${n}`;
      const files: IncomingFile[] = clips.map((body, i) => {
        bodies.set(`${id}-f${i}`, body);
        return {
          id: `${id}-f${i}`,
          name: more.names?.[i] ?? 'squat.mp4',
          contentType: more.names === undefined ? 'video/mp4' : null,
          bytes: body.length,
        };
      });
      const channel = more.channel ?? 'form-check';
      const by = more.by ?? 'juno';
      const message: IncomingMessage = {
        ref: { platform: name, channel, message: id, thread: more.reply?.message ?? null },
        threadStart: more.reply ?? null,
        author: { platform: name, id: by, name: by, groups: [], isBot: more.isBot ?? false },
        text: more.text ?? 'Squat 100 kg x5',
        files,
        sentAtMs: more.sentAtMs ?? 1_000_000 + n,
      };
      messages.push(message);
      if (more.told !== false) await events?.onMessage(message);
      return message;
    },
    /** Puts more files on a message that stands, without an event. */
    addTo(message: IncomingMessage, body: string) {
      const id = `${message.ref.message}-f${message.files.length}`;
      bodies.set(id, body);
      message.files.push({ id, name: 'squat.mp4', contentType: 'video/mp4', bytes: body.length });
    },
    tell: async (message: IncomingMessage) => events?.onMessage(message),
    gap: async () => events?.onGap(name),
    /** What a press, a choice, a sent form or a command is answered. `by`: a person's id; `groups`: what they are. */
    async act(action: Pick<Action, 'kind' | 'id'> & Partial<Action>, by = 'juno', groups: string[] = []): Promise<ActionReply> {
      n += 1;
      const person = { platform: name, id: by, name: by, groups, isBot: false };
      const rest = { pressId: `press-${n}`, where: null, channel: 'form-check', values: {} };
      return (await events?.onAction({ ...rest, person, ...action })) ?? { kind: 'nothing' };
    },
  };
}

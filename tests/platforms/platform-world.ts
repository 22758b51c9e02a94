/** A platform's server and its people as the suites of tests/platforms see them, and what all of them use. */
import type {
  Action,
  ActionReply,
  IncomingMessage,
  Mark,
  MessageRef,
  OutgoingMessage,
  Platform,
  PlatformError,
  PlatformEvents,
  PlatformName,
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

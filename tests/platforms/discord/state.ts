import type { SeenReply } from '../platform-world.ts';
import { application, type Channel, idSource, type Message, member, role, textChannel, user } from './shapes.ts';
import type { Json } from './spec.ts';

/** One press, command or sent form and what became of it. */
export interface Interaction {
  id: string;
  token: string;
  type: number;
  withMessage: boolean;
  /** Set once the first answer came or its time is over. */
  state: 'open' | 'deferred' | 'answered' | 'void';
  channel: string;
  texts: string[];
  bodies: Json[];
  resolve: (seen: SeenReply) => void;
}

export interface StoredFile {
  body: Buffer;
  type: string | undefined;
  /** What the CDN gives instead: a page as such, or one that claims to be the file. */
  instead: 'page' | 'page-as-file' | 'half' | null;
}

type Fault = 'rate-limited' | 'long-rate-limit' | 'unavailable' | 'answer-lost' | 'forbidden' | 'slow';

/** All that the pretended Discord knows. */
export function newState(firstAnswerMs: number) {
  const bot = user('900', 'millrace-desk', null, true);
  const people = {
    juno: user('101', 'juno', 'Juno', false),
    other: user('102', 'tamsin', 'Tamsin', false),
    machine: user('103', 'noticeboard', null, true),
  };
  const guild = '700';
  // View, history, send, send in threads, create public threads, react, attach, embed: by name in Discord's permission table.
  const allowed = [10n, 16n, 11n, 38n, 35n, 6n, 15n, 14n].reduce((sum, bit) => sum | (1n << bit), 0n);
  const channels = new Map<string, Channel>(
    [
      textChannel('801', guild, 'lifts'),
      textChannel('802', guild, 'coaches'),
      textChannel('803', guild, 'talk'),
      textChannel('804', guild, 'forum', 15),
    ].map((c) => [c.id, c]),
  );
  return {
    token: 'MTAx.fake.token',
    guild,
    bot,
    people,
    app: application('901', bot, 1 << 19),
    firstAnswerMs,
    nextId: idSource(),
    channels,
    messages: new Map<string, Message>(),
    /** The newest message that one person alone sees. */
    answer: null as Message | null,
    roles: [role(guild, '@everyone', 0n), role('601', 'bots', allowed), role('602', 'coaches', 0n), role('603', 'lifters', 0n)],
    members: new Map([
      [bot.id, member(bot, null, ['601'])],
      [people.juno.id, member(people.juno, 'Juno from Millrace', ['603'])],
      [people.other.id, member(people.other, null, [])],
      [people.machine.id, member(people.machine, null, [])],
    ]),
    files: new Map<string, StoredFile>(),
    nonces: new Map<string, string>(),
    commands: [] as Json[],
    interactions: new Map<string, Interaction>(),
    faults: [] as Fault[],
    /** Addresses signed before are expired. */
    signature: 1,
    /** What the bot did that Discord would refuse, and what the fake itself got wrong. */
    wrongs: [] as string[],
    /** Every REST call as `METHOD /path`. */
    calls: [] as string[],
    sessionsLeft: 1000,
  };
}

export type State = ReturnType<typeof newState>;

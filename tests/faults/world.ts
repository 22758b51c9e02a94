import type { IncomingMessage, Mark, MessageRef, OutgoingMessage, PlatformError } from '../../src/platforms/port.ts';
import type { CallName } from './protocol.ts';
import type { Random } from './random.ts';
import type { Schedule } from './schedule.ts';

interface Posted {
  ref: MessageRef;
  to: { channel: string; message: MessageRef | null };
  message: OutgoingMessage;
  key: string;
  removed: boolean;
}

/** What a call comes to: a value or an error, after a while. `lost`: it had its effect all the same. */
export type Outcome = { delayMs: number } & (
  | { value: unknown }
  | { code: PlatformError['code']; message: string; retry: PlatformError['retry'] }
);

/**
 * The server side of a chat platform. It lives in the parent process, so whatever dies on the bot's side, what was posted stays posted. A
 * post under a key that stands already is found again, as the port promises for every adapter; everything else is done as often as asked.
 */
export function createWorld(schedule: Pick<Schedule, 'faultShare' | 'mostFaults'>, random: Random) {
  const posts: Posted[] = [];
  const marks = new Map<string, Mark[]>();
  const markCalls = new Map<string, number>();
  const messages: IncomingMessage[] = [];
  const bodies = new Map<string, string>();
  const faults = new Map<string, number>();
  let calls = 0;
  let effects = 0;
  let lastCall: CallName | 'nothing' = 'nothing';
  let watched = false;
  let faultsLeft = schedule.mostFaults;
  const passing = (retryAfterMs: number | null = null) => ({ final: false, retryAfterMs });

  function effect(name: CallName, args: unknown[]): Outcome | { value: unknown } {
    if (name === 'history') {
      const [channel, after, limit] = args as [string, string | null, number];
      const found = messages.filter(
        (m) => (m.threadStart ?? m.ref).channel === channel && (after === null || Number(m.ref.message) > Number(after)),
      );
      return { value: found.slice(0, limit) };
    }
    if (name === 'fetchFile') return { value: { body: bodies.get((args[1] as { id: string }).id) ?? '', torn: false } };
    if (name === 'setMarks') {
      const [ref, next] = args as [MessageRef, Mark[]];
      marks.set(ref.message, next);
      markCalls.set(ref.message, (markCalls.get(ref.message) ?? 0) + 1);
      return { value: null };
    }
    if (name === 'post') {
      const [to, message, key] = args as [Posted['to'], OutgoingMessage, string];
      const earlier = posts.find((post) => post.key === key);
      if (earlier !== undefined) return { value: earlier.ref };
      const thread = to.message === null ? null : (to.message.thread ?? to.message.message);
      const ref: MessageRef = { platform: 'room', channel: to.channel, message: `bot-${posts.length + 1}`, thread };
      posts.push({ ref, to, message, key, removed: false });
      return { value: ref };
    }
    if (name === 'edit' || name === 'remove') {
      const post = posts.find((one) => one.ref.message === (args[0] as MessageRef).message);
      if (post === undefined || post.removed)
        return { delayMs: 0, code: 'gone', message: 'no such message', retry: { final: true, retryAfterMs: null } };
      if (name === 'remove') post.removed = true;
    }
    return { value: null };
  }

  function fault(name: CallName): string | null {
    if (faultsLeft <= 0 || !random.chance(schedule.faultShare)) return null;
    faultsLeft -= 1;
    const kinds = ['rate limit', '5xx before', '5xx after', 'slow'];
    const kind = random.pick(name === 'fetchFile' ? [...kinds, 'address expired', 'not ready', 'torn'] : kinds);
    faults.set(kind, (faults.get(kind) ?? 0) + 1);
    return kind;
  }

  return {
    posts,
    marks,
    messages,
    bodies,
    faults,
    calls: () => calls,
    /** Calls that were not turned away. */
    effects: () => effects,
    /** What was asked last. */
    lastCall: () => lastCall,
    /** Whether the bot has begun to watch: what was posted earlier is not its own. */
    isWatched: () => watched,
    ask(name: CallName, args: unknown[]): Outcome {
      calls += 1;
      lastCall = name;
      watched ||= name === 'history';
      const kind = fault(name);
      const error = (code: PlatformError['code'], retry = passing()) => ({ delayMs: 0, code, message: kind ?? '', retry });
      if (kind === 'rate limit') return error('rate-limited', passing(random.int(10, 120)));
      if (kind === '5xx before') return error('unreachable');
      if (kind === 'address expired' || kind === 'not ready') return error('not-ready');
      const result = effect(name, args);
      effects += 1;
      if (kind === '5xx after') return error('unreachable');
      if (kind === 'torn') return { delayMs: 0, value: { ...(result as { value: { body: string } }).value, torn: true } };
      return { delayMs: kind === 'slow' ? random.int(50, 300) : 0, ...result };
    },
  };
}
export type World = ReturnType<typeof createWorld>;

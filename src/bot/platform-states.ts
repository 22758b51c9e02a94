import { type Platform, PlatformError, type PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';

/** `refused`: trying again cannot help until the operator renews what is not taken (a token); `unreachable`: it is tried again. */
export type PlatformState = 'starting' | 'up' | 'unreachable' | 'refused';

/** How a platform is, and why it is not up: words for the operator, null when there is nothing to say. */
export interface PlatformCondition {
  state: PlatformState;
  why: string | null;
}

export interface PlatformStates {
  now(): Partial<Record<PlatformName, PlatformCondition>>;
  /** Notes how the connection is over which events come. */
  line(name: PlatformName, state: PlatformState, why: string | null): void;
  /** The same platform, whose calls tell how it is too: a token may be taken back while the connection stands. */
  watch(platform: Platform): Platform;
}

const up: PlatformCondition = { state: 'up', why: null };

/** A refusal that may pass is a token that was taken back (port.ts): all calls meet it. Other refusals are about one channel or message. */
function conditionAfter(error: unknown): PlatformCondition | null {
  if (!(error instanceof PlatformError)) return null;
  if (error.code === 'forbidden' && !error.retry.final) return { state: 'refused', why: error.message };
  if (error.code === 'unreachable') return { state: 'unreachable', why: error.message };
  return up; // it answers
}

/** Keeps how each platform is, by its connection and by its last call. A platform that begins or ends to refuse the bot is one line in the log. */
export function createPlatformStates(names: readonly PlatformName[], log: BotDeps['log']): PlatformStates {
  const lines = new Map<PlatformName, PlatformCondition>(names.map((name) => [name, { state: 'starting', why: null }]));
  const calls = new Map<PlatformName, PlatformCondition>();
  const of = (name: PlatformName): PlatformCondition => {
    const line = lines.get(name) ?? up;
    const call = calls.get(name) ?? up;
    return line.state === 'up' || (line.state === 'unreachable' && call.state === 'refused') ? call : line;
  };
  function change(conditions: Map<PlatformName, PlatformCondition>, name: PlatformName, next: PlatformCondition): void {
    const before = of(name);
    conditions.set(name, next);
    const after = of(name);
    if (after.state === 'refused' && before.state !== 'refused')
      log.error({ platform: name, error: after.why }, 'a platform refuses the bot, the others go on without it');
    if (before.state === 'refused' && after.state === 'up') log.info({ platform: name }, 'a platform takes the bot again');
  }

  return {
    now: () => Object.fromEntries(names.map((name) => [name, of(name)])),
    line: (name, state, why) => change(lines, name, { state, why }),
    watch(platform) {
      const { name } = platform;
      async function told<T>(call: Promise<T>): Promise<T> {
        try {
          const result = await call;
          change(calls, name, up);
          return result;
        } catch (error) {
          const found = conditionAfter(error);
          if (found !== null) change(calls, name, found);
          throw error;
        }
      }
      return {
        name,
        maxFileBytes: platform.maxFileBytes,
        start: (...args) => platform.start(...args),
        stop: () => platform.stop(),
        preflight: () => platform.preflight(),
        history: (...args) => told(platform.history(...args)),
        fetchFile: (...args) => told(platform.fetchFile(...args)),
        setMarks: (...args) => told(platform.setMarks(...args)),
        post: (...args) => told(platform.post(...args)),
        edit: (...args) => told(platform.edit(...args)),
        remove: (...args) => told(platform.remove(...args)),
      };
    },
  };
}

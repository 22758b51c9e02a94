import type { SubmissionState } from '../../src/ledger/port.ts';
import type { IncomingMessage, PlatformError } from '../../src/platforms/port.ts';

/** What a clip of these runs says to the stand-in for measuring; JSON text in place of a video. */
export interface ClipText {
  outcome: 'clean' | 'fix' | 'unsure' | 'bad';
  delayMs: number;
}

/** Length in s by which the stand-in for the judge tells what the clip is to be. */
export const lengthsS: Record<Exclude<ClipText['outcome'], 'bad'>, number> = { clean: 10, fix: 20, unsure: 30 };

/** What a bot process is started with, as JSON in the variable SCENE. */
export interface Scene {
  /** Watched channels; none: one called `form-check`. */
  channels?: string[];
  folder: string;
  databaseUrl: string | null;
  redisUrl: string | null;
  prefix: string;
  /** Port on which clips are served to workers, null when they share the spool folder. */
  clipPort: number | null;
  measuring: string;
  processes: number;
  retryAfterMs: number;
  progressAfterS: number;
  /** Where the process kills itself; null for never. */
  death: Death | null;
}

/** A kill -9 at call number `call` since the start of the process: of this step (`ledger.move`), or of any step where it is null. */
export interface Death {
  step: string | null;
  call: number;
  when: 'before' | 'after';
}

/** Calls of the adapter in the bot's process that the parent answers. */
export type CallName = 'start' | 'history' | 'fetchFile' | 'setMarks' | 'post' | 'edit' | 'remove';

export type FromBot =
  | { kind: 'call'; n: number; name: CallName; args: unknown[] }
  | { kind: 'state'; n: number; clips: ClipState[] };

export interface ClipState {
  id: string;
  message: string;
  state: SubmissionState;
  verdict: string | null;
  errorCode: string | null;
}

export type ToBot =
  | { kind: 'value'; n: number; value: unknown }
  | { kind: 'error'; n: number; code: PlatformError['code']; message: string; retry: PlatformError['retry'] }
  | { kind: 'message'; message: IncomingMessage }
  | { kind: 'gap' }
  | { kind: 'ask-state'; n: number };

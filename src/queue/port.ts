import type { Answer, ClipLimits } from './payload.ts';

/** The last word on a clip: everything but progress. */
export type FinalAnswer = Exclude<Answer, { kind: 'progress' }>;

/** A clip to be measured. `id` is safe as a file name; `member` is what fairness counts by; `file` is an absolute path. */
export interface QueueItem {
  id: string;
  member: string;
  file: string;
  limits: ClipLimits;
}

/** What the queue tells. All may come twice for one clip, and for clips of an earlier run of the bot. */
export interface QueueHandlers {
  onStarted(id: string): void;
  /** `share` of the work done, 0..1. */
  onProgress(id: string, share: number, stage: string): void;
  /** The queue keeps the answer and tells it again until this resolves. */
  onResult(id: string, answer: FinalAnswer): Promise<void>;
}

/**
 * Measures clips, members taking turns: a member's next clip waits until each other waiting member had one. An answer that says
 * `retry` (a dead process, a full disk) is tried once more, then given as it is.
 */
export interface Queue {
  start(handlers: QueueHandlers, signal: AbortSignal): Promise<void>;
  /** Repeating is harmless. The bot enqueues again at start whatever it has no result of. */
  enqueue(item: QueueItem): Promise<void>;
  /** Number of clips before each waiting clip; 0 for those being measured. */
  places(): Map<string, number>;
  depth(): { waiting: number; running: number };
  /** Waits up to `graceMs` for clips being measured, then hands them back to the queue. */
  stop(graceMs: number): Promise<void>;
}

/** Where the queue writes what the operator should know; no captions, no tokens. */
export interface QueueLog {
  info(details: object, text: string): void;
  warn(details: object, text: string): void;
}

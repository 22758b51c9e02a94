import type { Facts } from '../facts/facts.ts';
import type { Audit, Desk, EvidenceBook, Members, Requests } from './desks-port.ts';
import type { Archive, RuleBook } from './rules-port.ts';

export type { DeskEntry, Evidence, Forgotten, NewEvidence, NewRequest, StoredRequest } from './desks-port.ts';
export type { ActsOf, ArchivedClip, Author, Proposal, RuleVersion } from './rules-port.ts';

/**
 * Where a submission stands. `failed`: the clip cannot be judged, `set-aside`: it was given up on; `answering`: its acts are planned;
 * `answered` and `undeliverable` (the answer could not be posted for good) are the ends.
 */
export type SubmissionState =
  | 'received'
  | 'spooled'
  | 'queued'
  | 'measuring'
  | 'judged'
  | 'failed'
  | 'set-aside'
  | 'answering'
  | 'answered'
  | 'undeliverable';

/** Address of a message, as the platform port has it. */
export interface StoredRef {
  platform: 'discord' | 'slack' | 'room';
  channel: string;
  message: string;
  thread: string | null;
}

/** What is known of a clip when it is posted. Times in ms since 1970. */
export interface NewSubmission {
  /** Made from platform, channel, message and file, so the same clip always has the same id; safe as a file name and a job id. */
  id: string;
  ref: StoredRef;
  /** Key of the thread: submissions and acts of one lane are one conversation, and its acts are done in order. */
  lane: string;
  file: { id: string; name: string; contentType: string | null; bytes: number | null };
  /** The submission that this clip is a new take of, null for a first take. */
  takeOf: string | null;
  /** The first take; its own id for a first take. */
  root: string;
  authorId: string;
  authorName: string;
  caption: string;
  sentMs: number;
}

/** What a move may write besides the state. */
export interface SubmissionChange {
  errorCode?: string | null;
  facts?: Facts;
  /** JSON of the bot's own shape; the ledger only keeps it. */
  judgement?: unknown;
  verdict?: 'clean' | 'fix' | 'unsure';
  rulesVersion?: number;
  timings?: Record<string, number>;
  clipPath?: string | null;
  trimmedPath?: string | null;
  request?: string | null;
  /** The cautions are said: the move is undone when they were said to this member before. */
  cautions?: boolean;
  attempts?: number;
  notBeforeMs?: number;
}

export interface Submission extends NewSubmission {
  state: SubmissionState;
  errorCode: string | null;
  facts: Facts | null;
  judgement: unknown;
  verdict: 'clean' | 'fix' | 'unsure' | null;
  rulesVersion: number | null;
  timings: Record<string, number> | null;
  clipPath: string | null;
  trimmedPath: string | null;
  /** Id of the view request that it was judged by, null for none. */
  request: string | null;
  /** Failed tries of the present step, and when the next one may be. */
  attempts: number;
  notBeforeMs: number;
  createdMs: number;
  updatedMs: number;
  answeredMs: number | null;
}

/** Something to be done on a platform exactly once. `payload` is the bot's own JSON. */
export interface NewAct {
  /** Unique for ever: planning the same key again changes nothing. */
  key: string;
  lane: string;
  submission: string | null;
  payload: unknown;
  /** The submission counts as undeliverable if this act fails for good. */
  essential: boolean;
}

export interface Act extends NewAct {
  /** `doing` survives a crash: it may or may not have reached the platform. */
  state: 'planned' | 'doing' | 'done' | 'failed';
  ref: StoredRef | null;
  attempts: number;
  notBeforeMs: number;
}

/** One job of the embedded queue; `task` and `answer` are JSON texts of the queue's own shapes. */
export interface JobRow {
  id: string;
  member: string;
  turn: number;
  task: string;
  deaths: number;
  leases: number;
  answer: string | null;
}

/**
 * Nothing is postponed for longer, ms: five minutes, the bot's longest backoff, and a fifth by chance. What seems to be was postponed
 * before the clock was set back, and is due.
 */
export const longestWaitMs = 360_000;

/** The one memory of the bot. Every method is a transaction of its own. Times are ms since 1970 and passed in. */
export interface Ledger {
  /** Keeps the submission as `received` with its acts; false, and nothing is kept, when it is known already or was forgotten. */
  receive(submission: NewSubmission, acts: NewAct[], nowMs: number): Promise<boolean>;
  submission(id: string): Promise<Submission | null>;
  /** All submissions of a thread, oldest first. */
  inLane(lane: string): Promise<Submission[]>;
  /** Ids of submissions that the bot itself has to move on (not those in the queue's or the acts' hands), oldest first; in these states only. */
  due(nowMs: number, limit: number, states?: SubmissionState[]): Promise<string[]>;
  /** When the next postponed submission or act is due after `nowMs`, null when there is none. */
  nextDueMs(nowMs: number): Promise<number | null>;
  /** The `limit` oldest submissions without a judgement that were received before `beforeMs`, oldest first. */
  waiting(beforeMs: number, limit: number): Promise<Submission[]>;
  /** Ids in one of these states, oldest first. */
  inState(states: SubmissionState[]): Promise<string[]>;
  /** Ids with files on the disk whose answer ended at `untilMs` or before, oldest first. */
  spooledUntil(untilMs: number, limit: number): Promise<string[]>;
  /** Notes that a clip and its trimmed clip are deleted. */
  forgetFiles(id: string, nowMs: number): Promise<void>;
  /**
   * Deletes up to `limit` submissions whose answer ended at `untilMs` or before, the oldest first, with all that belongs to them; and what
   * nobody needs after that time: acts of no submission, the record of who did what, wishes that have ended, what is kept of members
   * without clips. On SQLite nothing of it is left in the file. Ids of the submissions.
   */
  forget(untilMs: number, limit: number): Promise<string[]>;
  /**
   * Moves on and plans acts, together; false, and nothing changes, when the submission is not in one of the states `from`, or `cautions` are
   * to be said that were said.
   */
  move(
    id: string,
    from: SubmissionState[],
    to: SubmissionState,
    nowMs: number,
    change?: SubmissionChange,
    acts?: NewAct[],
  ): Promise<boolean>;
  plan(acts: NewAct[], nowMs: number): Promise<void>;
  act(key: string): Promise<Act | null>;
  /** The first open act of each lane, if it is due. */
  dueActs(nowMs: number, limit: number): Promise<Act[]>;
  /** Notes that the act is about to be done, and counts the try. */
  beginAct(key: string, nowMs: number): Promise<void>;
  postponeAct(key: string, notBeforeMs: number, error: string, nowMs: number): Promise<void>;
  /** Ends an act; when it was the last open one of an `answering` submission, that becomes `answered` or `undeliverable`. */
  endAct(key: string, end: { ref: StoredRef | null } | { error: string }, nowMs: number): Promise<void>;
  cursor(name: string): Promise<string | null>;
  setCursor(name: string, value: string): Promise<void>;
  /** True, and `nowMs` is noted, when the last true answer for this name is at least `everyMs` ago, or after `nowMs`: a clock set back. */
  atMostEvery(name: string, everyMs: number, nowMs: number): Promise<boolean>;
  readonly jobs: {
    /** In the order they were added. */
    all(): Promise<JobRow[]>;
    /** False when a job of that id is there. */
    add(job: JobRow): Promise<boolean>;
    change(id: string, change: Partial<Pick<JobRow, 'deaths' | 'leases' | 'answer'>>): Promise<void>;
    remove(id: string): Promise<void>;
  };
  readonly desk: Desk;
  readonly requests: Requests;
  readonly evidence: EvidenceBook;
  readonly members: Members;
  readonly audit: Audit;
  readonly rules: RuleBook;
  readonly archive: Archive;
  close(): Promise<void>;
}

import type { Act, NewAct, Submission } from './port.ts';

/** One clip on the coaches' desk. `unusable`: a coach found the filming not good enough after all. Times in ms since 1970. */
export interface DeskEntry {
  submission: string;
  platform: string;
  state: 'waiting' | 'taken' | 'done' | 'unusable';
  coachId: string | null;
  coachName: string | null;
  createdMs: number;
  takenMs: number | null;
  endedMs: number | null;
}

/** What waits for the coaches. Every method is a transaction of its own. */
export interface Desk {
  /** Puts a clip on the desk; nothing when it is there already. */
  put(submission: string, platform: string, nowMs: number): Promise<void>;
  entry(submission: string): Promise<DeskEntry | null>;
  /**
   * Takes a clip that was sent back to the coaches after all: puts it on the desk, keeps what was said, and makes the submission `judged`
   * again, so that its card is made. All or nothing: `there` when it is on the desk already, `used-up` when the member said something of
   * this kind `most` times after `sinceMs`, `not-now` when it was not sent back or its answer is not planned yet.
   */
  passOn(
    submission: string,
    evidence: NewEvidence | null,
    limit: { sinceMs: number; most: number } | null,
    nowMs: number,
  ): Promise<'passed' | 'there' | 'used-up' | 'not-now'>;
  /** Entries in these states, oldest first. */
  list(platform: string, states: DeskEntry['state'][], limit: number): Promise<DeskEntry[]>;
  /** Ended at `sinceMs` or later, oldest first. */
  endedSince(platform: string, sinceMs: number): Promise<DeskEntry[]>;
  /** The member's answered clips of a lift that were taken in before this one, the newest first, at most `limit`. */
  earlierOf(s: Pick<Submission, 'id' | 'ref' | 'authorId'>, lift: string, limit: number): Promise<Submission[]>;
  /** How many clips each rule sent back that were answered at `sinceMs` or later, the most first. */
  correctionsSince(platform: string, sinceMs: number): Promise<{ rule: string; clips: number }[]>;
  /**
   * Moves an entry, plans acts and keeps what was said by it, together; false, and nothing changes, unless it is in a state of `from` and,
   * with `heldBy`, held by that coach. `waiting` clears the coach. Evidence whose id is known stays as it is.
   */
  move(
    submission: string,
    change: { from: DeskEntry['state'][]; to: DeskEntry['state']; heldBy?: string; coach?: { id: string; name: string } },
    nowMs: number,
    acts?: NewAct[],
    evidence?: NewEvidence[],
  ): Promise<boolean>;
}

/** A coach's wish to see a member's lift from another view. `id` is made of the press, so a press that comes twice makes one. */
export interface NewRequest {
  id: string;
  platform: string;
  memberId: string;
  lift: string;
  view: string;
  note: string;
  /** Ends after this many clips, or at a time; null where it does not end that way. */
  clipsLeft: number | null;
  untilMs: number | null;
  byId: string;
  byName: string;
}
export interface StoredRequest extends NewRequest {
  createdMs: number;
  closedMs: number | null;
}

export interface Requests {
  /** Adds one and closes the member's open ones for the lift; plans acts with it. False, and nothing changes, when the id is known. */
  add(request: NewRequest, nowMs: number, acts?: NewAct[]): Promise<boolean>;
  /** The open request of a member for a lift at this time, null for none. */
  open(platform: string, memberId: string, lift: string, nowMs: number): Promise<StoredRequest | null>;
  /** All open requests of a member, newest first. */
  openOf(platform: string, memberId: string, nowMs: number): Promise<StoredRequest[]>;
  find(id: string): Promise<StoredRequest | null>;
  /**
   * Counts one clip as served, once for each submission id, and notes the wish on the submission; the last one closes it. False, and nothing
   * changes, when it was closed meanwhile.
   */
  serve(id: string, submission: string, nowMs: number): Promise<boolean>;
  /** Ends one before its time and plans acts with it; false, and nothing changes, when it is closed already. */
  close(id: string, nowMs: number, acts?: NewAct[]): Promise<boolean>;
}

/**
 * What people said about a judgement. `appeal`: the member sends a clip on that was sent back; `accepted`: a coach could use a clip that
 * was sent back; `unusable`: a coach could not use one that was passed; `asked-view`: the member says that a coach asked for the view.
 */
export interface NewEvidence {
  id: string;
  submission: string;
  kind: 'appeal' | 'accepted' | 'unusable' | 'asked-view';
  /** The rule that was wrong, or should have said something. */
  rule: string | null;
  reason: string;
  byId: string;
  byName: string;
}
export interface Evidence extends NewEvidence {
  atMs: number;
}

export interface EvidenceBook {
  /** False, and nothing changes, when the id is known. */
  add(evidence: NewEvidence, nowMs: number, acts?: NewAct[]): Promise<boolean>;
  of(submission: string): Promise<Evidence[]>;
  /** How often a member said this about clips of their own after `sinceMs`. */
  count(platform: string, memberId: string, kind: NewEvidence['kind'], sinceMs: number): Promise<number>;
  /** All at `sinceMs` or later, oldest first. */
  since(sinceMs: number): Promise<Evidence[]>;
}

/** What is kept of a member besides their clips. */
export interface Member {
  statureCm: number | null;
  cautionedMs: number | null;
}

/** What was kept of a member until now. */
export interface Forgotten {
  submissions: Submission[];
  /** All that was done or planned for them. */
  acts: Act[];
}

export interface Members {
  get(platform: string, memberId: string): Promise<Member>;
  set(platform: string, memberId: string, change: Partial<Member>): Promise<void>;
  /** A member's judged clips, the newest first, at most `limit`. */
  clips(platform: string, memberId: string, limit: number): Promise<Submission[]>;
  /**
   * Deletes all that is kept of a member: clips with all that belongs to them, jobs, wishes, stature, what they did; their names in posts to
   * nobody's clip become `instead`. What is left is that these clips are not to be taken in again, without a way back to the clip or the
   * person. Plans `actsAfter`; acts whose keys begin with `forget/` are deleted when they end. On SQLite nothing of it is left in the file.
   */
  forget(
    who: { platform: string; memberId: string; instead: string },
    nowMs: number,
    actsAfter: (forgotten: Forgotten) => NewAct[],
  ): Promise<Forgotten>;
}

export interface AuditEntry {
  atMs: number;
  platform: string;
  personId: string;
  personName: string;
  /** Id of the use case. */
  act: string;
  /** What it was done to: a submission, a member, a rule version; no free text. */
  subject: string;
  allowed: boolean;
}

export interface Audit {
  note(entry: AuditEntry): Promise<void>;
  /** The newest first. */
  last(limit: number): Promise<AuditEntry[]>;
}

import type { Facts } from '../facts/facts.ts';
import type { DeskEntry, Evidence } from './desks-port.ts';
import type { NewAct, StoredRef } from './port.ts';

/** The rules file as it was from some time on. Times in ms since 1970. */
export interface RuleVersion {
  version: number;
  yaml: string;
  /** The name of a person, or of the file that it was read from. */
  author: string;
  /** `platform/id` of a person, null for the file. */
  authorId: string | null;
  reason: string;
  atMs: number;
}

/** A change that somebody proposes; `id` is made of the press, so a press that comes twice makes one. */
export interface NewProposal {
  id: string;
  platform: string;
  byId: string;
  byName: string;
  /** Version that was in force when it was made. */
  base: number;
  /** The whole rules file as it would be. */
  yaml: string;
}
export interface Proposal extends NewProposal {
  state: 'open' | 'applied' | 'dropped';
  createdMs: number;
}

/** Who makes a version, and why. */
export interface Author {
  name: string;
  id: string | null;
  reason: string;
}

/** Acts that are planned with a version, by its number. */
export type ActsOf = (version: number) => NewAct[];

/** What the rules were, are and might be. The newest version is in force. Every method is a transaction of its own. */
export interface RuleBook {
  /** Makes the file's text the newest version unless it is what was last read from the file. Gives the newest version. */
  fromFile(yaml: string, file: string, nowMs: number): Promise<RuleVersion>;
  newest(): Promise<RuleVersion | null>;
  version(version: number): Promise<RuleVersion | null>;
  /** The newest first. */
  history(limit: number): Promise<RuleVersion[]>;
  /** Adds a version after `base` with acts; null, and nothing changes, when another one has come since. */
  add(yaml: string, base: number | null, author: Author, nowMs: number, acts?: ActsOf): Promise<number | null>;
  /** False, and nothing changes, when the id is known. */
  propose(proposal: NewProposal, nowMs: number): Promise<boolean>;
  proposal(id: string): Promise<Proposal | null>;
  /** Makes an open proposal the newest version, with acts; else nothing changes: it is not open, or the rules have changed since. */
  apply(
    id: string,
    author: Author,
    nowMs: number,
    acts?: ActsOf,
  ): Promise<{ kind: 'applied'; version: number } | { kind: 'not-open' } | { kind: 'stale' }>;
  /** False when it is not open. */
  drop(id: string): Promise<boolean>;
}

/** A clip that was judged, with what came of it. */
export interface ArchivedClip {
  id: string;
  ref: StoredRef;
  authorId: string;
  authorName: string;
  root: string;
  createdMs: number;
  answeredMs: number | null;
  facts: Facts;
  /** JSON of the bot's own shape. */
  judgement: unknown;
  rulesVersion: number | null;
  /** The view request that it was judged by. */
  request: { lift: string; view: string } | null;
  desk: DeskEntry['state'] | null;
  /** Oldest first. */
  evidence: Evidence[];
}

/** Which clips: the last so many of all platforms, or those of one platform received after one time and not after another. */
export type WhichClips = { last: number } | { platform: string; fromMs: number; toMs: number };

/** What was judged, to be looked at as a whole. */
export interface Archive {
  /** Oldest first. `unreadable`: clips left out because their facts or request cannot be read any more. */
  judged(which: WhichClips): Promise<{ clips: ArchivedClip[]; unreadable: number }>;
}

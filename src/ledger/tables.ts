import type { Generated } from 'kysely';
import type { Act, JobRow, SubmissionState } from './port.ts';

/** Columns as stored: JSON as text, truth as 0 and 1, times in ms since 1970. */
export interface Tables {
  submissions: {
    seq: Generated<number>;
    id: string;
    root: string;
    take_of: string | null;
    lane: string;
    platform: string;
    channel: string;
    message: string;
    thread: string | null;
    file: string;
    author_id: string;
    author_name: string;
    caption: string;
    sent_ms: number;
    state: SubmissionState;
    error_code: string | null;
    facts: string | null;
    judgement: string | null;
    verdict: string | null;
    rules_version: number | null;
    timings: string | null;
    clip_path: string | null;
    trimmed_path: string | null;
    /** Id of the view request that it was judged by. */
    request: string | null;
    attempts: number;
    not_before_ms: number;
    created_ms: number;
    updated_ms: number;
    answered_ms: number | null;
  };
  acts: {
    seq: Generated<number>;
    key: string;
    lane: string;
    submission: string | null;
    payload: string;
    essential: number;
    state: Act['state'];
    ref: string | null;
    attempts: number;
    not_before_ms: number;
    error: string | null;
    created_ms: number;
    updated_ms: number;
  };
  jobs: JobRow & { seq: Generated<number> };
  cursors: { name: string; value: string };
  desk: {
    seq: Generated<number>;
    submission: string;
    platform: string;
    state: 'waiting' | 'taken' | 'done' | 'unusable';
    coach_id: string | null;
    coach_name: string | null;
    created_ms: number;
    taken_ms: number | null;
    ended_ms: number | null;
  };
  requests: {
    seq: Generated<number>;
    id: string;
    platform: string;
    member_id: string;
    lift: string;
    view: string;
    note: string;
    clips_left: number | null;
    until_ms: number | null;
    by_id: string;
    by_name: string;
    created_ms: number;
    closed_ms: number | null;
  };
  evidence: {
    seq: Generated<number>;
    id: string;
    submission: string;
    kind: string;
    rule: string | null;
    reason: string;
    by_id: string;
    by_name: string;
    at_ms: number;
  };
  members: { platform: string; member_id: string; stature_cm: number | null; cautioned_ms: number | null };
  audit: {
    seq: Generated<number>;
    at_ms: number;
    platform: string;
    person_id: string;
    person_name: string;
    act: string;
    subject: string;
    allowed: number;
  };
  rule_versions: {
    seq: Generated<number>;
    yaml: string;
    author: string;
    author_id: string | null;
    reason: string;
    at_ms: number;
    /** The version that this one follows, 0 for none; null in what earlier programs wrote. */
    after: number | null;
  };
  proposals: {
    seq: Generated<number>;
    id: string;
    platform: string;
    by_id: string;
    by_name: string;
    base: number;
    yaml: string;
    state: 'open' | 'applied' | 'dropped';
    created_ms: number;
  };
}

export type Engine = 'sqlite' | 'postgres';

import type { Generated } from 'kysely';
import type { Act, SubmissionState } from './port.ts';

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
  jobs: {
    seq: Generated<number>;
    id: string;
    member: string;
    turn: number;
    task: string;
    deaths: number;
    leases: number;
    answer: string | null;
  };
  cursors: { name: string; value: string };
  rule_versions: { seq: Generated<number>; yaml: string; author: string; reason: string; at_ms: number };
}

export type Engine = 'sqlite' | 'postgres';

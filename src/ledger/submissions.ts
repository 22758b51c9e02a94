import type { Insertable, Selectable, Updateable } from 'kysely';
import { Facts } from '../facts/facts.ts';
import type { NewSubmission, StoredRef, Submission, SubmissionChange } from './port.ts';
import type { Tables } from './tables.ts';

/** Row of a clip that was just received. */
export function rowOf(s: NewSubmission, nowMs: number): Insertable<Tables['submissions']> {
  return {
    id: s.id,
    root: s.root,
    take_of: s.takeOf,
    lane: s.lane,
    platform: s.ref.platform,
    channel: s.ref.channel,
    message: s.ref.message,
    thread: s.ref.thread,
    file: JSON.stringify(s.file),
    author_id: s.authorId,
    author_name: s.authorName,
    caption: s.caption,
    sent_ms: s.sentMs,
    state: 'received',
    attempts: 0,
    not_before_ms: 0,
    created_ms: nowMs,
    updated_ms: nowMs,
  };
}

/** Columns that a change writes; what is left out stays. */
export function changedColumns(change: SubmissionChange): Updateable<Tables['submissions']> {
  const row: Updateable<Tables['submissions']> = {};
  if (change.errorCode !== undefined) row.error_code = change.errorCode;
  if (change.facts !== undefined) row.facts = JSON.stringify(change.facts);
  if (change.judgement !== undefined) row.judgement = JSON.stringify(change.judgement);
  if (change.verdict !== undefined) row.verdict = change.verdict;
  if (change.rulesVersion !== undefined) row.rules_version = change.rulesVersion;
  if (change.timings !== undefined) row.timings = JSON.stringify(change.timings);
  if (change.clipPath !== undefined) row.clip_path = change.clipPath;
  if (change.trimmedPath !== undefined) row.trimmed_path = change.trimmedPath;
  if (change.request !== undefined) row.request = change.request;
  if (change.attempts !== undefined) row.attempts = change.attempts;
  if (change.notBeforeMs !== undefined) row.not_before_ms = change.notBeforeMs;
  return row;
}

/** The submission of a row. Throws a ZodError when stored facts do not fit the contract. */
export function submissionOf(row: Selectable<Tables['submissions']>): Submission {
  return {
    id: row.id,
    root: row.root,
    takeOf: row.take_of,
    lane: row.lane,
    ref: { platform: row.platform as StoredRef['platform'], channel: row.channel, message: row.message, thread: row.thread },
    file: JSON.parse(row.file) as Submission['file'],
    authorId: row.author_id,
    authorName: row.author_name,
    caption: row.caption,
    sentMs: row.sent_ms,
    state: row.state,
    errorCode: row.error_code,
    facts: row.facts === null ? null : Facts.parse(JSON.parse(row.facts)),
    judgement: row.judgement === null ? null : JSON.parse(row.judgement),
    verdict: row.verdict as Submission['verdict'],
    rulesVersion: row.rules_version,
    timings: row.timings === null ? null : (JSON.parse(row.timings) as Record<string, number>),
    clipPath: row.clip_path,
    trimmedPath: row.trimmed_path,
    request: row.request,
    attempts: row.attempts,
    notBeforeMs: row.not_before_ms,
    createdMs: row.created_ms,
    updatedMs: row.updated_ms,
    answeredMs: row.answered_ms,
  };
}

import type { Kysely } from 'kysely';
import type { Submission } from './port.ts';
import { submissionOf } from './submissions.ts';
import type { Tables } from './tables.ts';

/** A member's clips are looked through this far back. Chosen: months of clips, and one quick query. */
const mostLookedAt = 300;

/** The part of the bot's judgement that is looked at here. */
interface Judged {
  lift?: unknown;
  findings?: { rule: string; severity: string }[];
}
const judgedOf = (judgement: string | null) => (judgement === null ? {} : (JSON.parse(judgement) as Judged));

/** The member's answered clips of a lift that were taken in before this one, the newest first. Goes by the index of authors. */
export async function earlierOf(
  db: Kysely<Tables>,
  s: Pick<Submission, 'id' | 'ref' | 'authorId'>,
  lift: string,
  limit: number,
): Promise<Submission[]> {
  const rows = await db
    .selectFrom('submissions')
    .select(['id', 'judgement'])
    .where('platform', '=', s.ref.platform)
    .where('author_id', '=', s.authorId)
    .where('state', 'in', ['answering', 'answered'])
    .where('verdict', 'is not', null)
    .where(({ eb, selectFrom }) => eb('seq', '<', selectFrom('submissions as own').select('own.seq').where('own.id', '=', s.id)))
    .orderBy('seq', 'desc')
    .limit(mostLookedAt)
    .execute();
  const ids = rows.filter(({ judgement }) => judgedOf(judgement).lift === lift).map(({ id }) => id);
  if (ids.length === 0) return [];
  const found = db.selectFrom('submissions').selectAll().where('id', 'in', ids.slice(0, limit)).orderBy('seq', 'desc');
  return (await found.execute()).map(submissionOf);
}

/** How many clips each rule sent back that were answered at `sinceMs` or later, the most first. */
export async function correctionsSince(
  db: Kysely<Tables>,
  platform: string,
  sinceMs: number,
): Promise<{ rule: string; clips: number }[]> {
  const rows = await db
    .selectFrom('submissions')
    .select('judgement')
    .where('state', 'in', ['answering', 'answered'])
    .where('platform', '=', platform)
    .where('verdict', '=', 'fix')
    .where('updated_ms', '>=', sinceMs)
    .where((eb) => eb.or([eb('answered_ms', '>=', sinceMs), eb('answered_ms', 'is', null)]))
    .execute();
  const clips = new Map<string, number>();
  for (const { judgement } of rows) {
    const rules = (judgedOf(judgement).findings ?? []).filter(({ severity }) => severity === 'fix').map(({ rule }) => rule);
    for (const rule of new Set(rules)) clips.set(rule, (clips.get(rule) ?? 0) + 1);
  }
  return [...clips].map(([rule, n]) => ({ rule, clips: n })).sort((a, b) => b.clips - a.clips || a.rule.localeCompare(b.rule));
}

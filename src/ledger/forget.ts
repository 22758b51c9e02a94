import type { Kysely } from 'kysely';
import { deleteForgottenMarks } from './forgotten-marks.ts';
import type { Tables } from './tables.ts';

/** Deletes submissions and all rows that belong to one of them. Runs inside the caller's transaction. */
export async function deleteSubmissions(db: Kysely<Tables>, ids: readonly string[]): Promise<void> {
  if (ids.length === 0) return;
  for (const table of ['acts', 'desk', 'evidence'] as const)
    await db
      .deleteFrom(table)
      .where('submission', 'in', [...ids])
      .execute();
  await db
    .deleteFrom('audit')
    .where('subject', 'in', [...ids])
    .execute();
  await db
    .deleteFrom('submissions')
    .where('id', 'in', [...ids])
    .execute();
}

/** Deletes what ended at `untilMs` or before; ids of the submissions, at most `limit`. Runs inside the caller's transaction. */
export async function deleteOld(db: Kysely<Tables>, untilMs: number, limit: number): Promise<string[]> {
  const rows = await db
    .selectFrom('submissions')
    .select(['id', 'platform', 'author_id'])
    .where('state', 'in', ['answered', 'undeliverable'])
    .where('answered_ms', '<=', untilMs)
    .where('clip_path', 'is', null)
    .where(({ not, exists, selectFrom }) =>
      not(
        exists(
          selectFrom('acts')
            .select('acts.seq')
            .whereRef('acts.submission', '=', 'submissions.id')
            .where('acts.state', 'in', ['planned', 'doing']),
        ),
      ),
    )
    .orderBy('seq')
    .limit(limit)
    .execute();
  const ids = rows.map(({ id }) => id);
  await deleteSubmissions(db, ids);
  await db
    .deleteFrom('acts')
    .where('submission', 'is', null)
    .where('state', 'in', ['done', 'failed'])
    .where('updated_ms', '<=', untilMs)
    .execute();
  await db.deleteFrom('audit').where('at_ms', '<=', untilMs).execute();
  await deleteForgottenMarks(db, untilMs);
  await db.deleteFrom('proposals').where('created_ms', '<=', untilMs).execute();
  await db
    .deleteFrom('requests')
    .where((eb) => eb.or([eb('closed_ms', '<=', untilMs), eb('until_ms', '<=', untilMs)]))
    .execute();
  const authors = new Map(rows.map((row) => [`${row.platform}/${row.author_id}`, row]));
  for (const { platform, author_id } of authors.values()) await deleteMember(db, platform, author_id);
  return ids;
}

/** Deletes what is kept of a member of whom no clip and no wish is left. */
async function deleteMember(db: Kysely<Tables>, platform: string, id: string): Promise<void> {
  await db
    .deleteFrom('members')
    .where('platform', '=', platform)
    .where('member_id', '=', id)
    .where(({ not, exists, selectFrom }) =>
      not(exists(selectFrom('submissions').select('seq').where('platform', '=', platform).where('author_id', '=', id))),
    )
    .where(({ not, exists, selectFrom }) =>
      not(exists(selectFrom('requests').select('seq').where('platform', '=', platform).where('member_id', '=', id))),
    )
    .execute();
}

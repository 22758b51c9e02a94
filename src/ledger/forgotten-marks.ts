import { createHash } from 'node:crypto';
import type { Kysely } from 'kysely';
import type { Tables } from './tables.ts';

const markName = (id: string) => `forgotten/${createHash('sha256').update(id).digest('hex')}`;

/** Whether a clip was forgotten: it is not taken in again when an edit or a backfill tells it once more. */
export async function isForgotten(db: Kysely<Tables>, id: string): Promise<boolean> {
  const row = await db.selectFrom('cursors').select('name').where('name', '=', markName(id)).executeTakeFirst();
  return row !== undefined;
}

/** Deletes the marks of clips that were forgotten at `untilMs` or before. */
export async function deleteForgottenMarks(db: Kysely<Tables>, untilMs: number): Promise<void> {
  const rows = await db.selectFrom('cursors').selectAll().where('name', 'like', 'forgotten/%').execute();
  for (const { name, value } of rows)
    if (Number(value) <= untilMs) await db.deleteFrom('cursors').where('name', '=', name).execute();
}

/** Marks clips as forgotten. */
export async function markForgotten(db: Kysely<Tables>, ids: readonly string[], nowMs: number): Promise<void> {
  for (const id of ids) {
    const value = String(nowMs);
    await db
      .insertInto('cursors')
      .values({ name: markName(id), value })
      .onConflict((c) => c.column('name').doUpdateSet({ value }))
      .execute();
  }
}

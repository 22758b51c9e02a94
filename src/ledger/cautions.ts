import type { Kysely } from 'kysely';
import type { Tables } from './tables.ts';
import { Undone } from './undone.ts';

/** Notes that the cautions are said to the member of a submission. Throws Undone when they were said before. */
export async function noteCautions(db: Kysely<Tables>, submission: string, nowMs: number): Promise<void> {
  const { platform, author_id } = await db
    .selectFrom('submissions')
    .select(['platform', 'author_id'])
    .where('id', '=', submission)
    .executeTakeFirstOrThrow();
  const { numInsertedOrUpdatedRows } = await db
    .insertInto('members')
    .values({ platform, member_id: author_id, cautioned_ms: nowMs })
    .onConflict((c) =>
      c.columns(['platform', 'member_id']).doUpdateSet({ cautioned_ms: nowMs }).where('members.cautioned_ms', 'is', null),
    )
    .executeTakeFirst();
  if (numInsertedOrUpdatedRows !== 1n) throw new Undone();
}

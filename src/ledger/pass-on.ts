import type { Kysely } from 'kysely';
import type { NewEvidence } from './port.ts';
import type { Tables } from './tables.ts';
import { orUndone, Undone } from './undone.ts';

/** See `Desk.passOn`. */
export async function passOn(
  db: Kysely<Tables>,
  submission: string,
  evidence: NewEvidence | null,
  limit: { sinceMs: number; most: number } | null,
  nowMs: number,
): Promise<'passed' | 'there' | 'used-up' | 'not-now'> {
  let outcome: 'there' | 'used-up' | 'not-now' = 'not-now';
  const undo = (why: typeof outcome) => {
    outcome = why;
    return new Undone();
  };
  const done = await orUndone(
    db.transaction().execute(async (tx) => {
      const { numUpdatedRows } = await tx
        .updateTable('submissions')
        .set({ state: 'judged', attempts: 0, not_before_ms: 0, updated_ms: nowMs })
        .where('id', '=', submission)
        .where('state', 'in', ['answering', 'answered', 'undeliverable'])
        .where('verdict', '=', 'fix')
        .executeTakeFirst();
      const { platform, author_id } = (await tx
        .selectFrom('submissions')
        .select(['platform', 'author_id'])
        .where('id', '=', submission)
        .executeTakeFirst()) ?? { platform: '', author_id: '' };
      const { numInsertedOrUpdatedRows } = await tx
        .insertInto('desk')
        .values({ submission, platform, state: 'waiting', created_ms: nowMs })
        .onConflict((c) => c.column('submission').doNothing())
        .executeTakeFirst();
      if (numInsertedOrUpdatedRows !== 1n) throw undo('there');
      if (numUpdatedRows !== 1n) throw undo('not-now');
      if (evidence === null) return true;
      if (limit !== null) {
        // Writing the member first makes their other presses wait, so that each counts what the one before it added.
        await tx
          .insertInto('members')
          .values({ platform, member_id: author_id })
          .onConflict((c) => c.columns(['platform', 'member_id']).doUpdateSet({ member_id: author_id }))
          .execute();
        const used = await countSaid(tx, platform, author_id, evidence.kind, limit.sinceMs);
        if (used >= limit.most) throw undo('used-up');
      }
      const { id, kind, rule, reason, byId, byName } = evidence;
      await tx
        .insertInto('evidence')
        .values({ id, submission, kind, rule, reason, by_id: byId, by_name: byName, at_ms: nowMs })
        .execute();
      return true;
    }),
  );
  return done ? 'passed' : outcome;
}

/** How often a member said something of this kind about clips of theirs after `sinceMs`. */
export async function countSaid(
  db: Kysely<Tables>,
  platform: string,
  memberId: string,
  kind: NewEvidence['kind'],
  sinceMs: number,
): Promise<number> {
  const row = await db
    .selectFrom('evidence')
    .innerJoin('submissions', 'submissions.id', 'evidence.submission')
    .select(({ fn }) => fn.countAll<number>().as('n'))
    .where('submissions.platform', '=', platform)
    .where('submissions.author_id', '=', memberId)
    .where('evidence.kind', '=', kind)
    .where('evidence.by_id', '=', memberId)
    .where('evidence.at_ms', '>', sinceMs)
    .executeTakeFirstOrThrow();
  return Number(row.n);
}

import { type Kysely, type Selectable, sql } from 'kysely';
import { type Act, longestWaitMs, type NewAct, type StoredRef } from './port.ts';
import type { Tables } from './tables.ts';

/** The act of a row. */
export function actOf(row: Selectable<Tables['acts']>): Act {
  return {
    key: row.key,
    lane: row.lane,
    submission: row.submission,
    payload: JSON.parse(row.payload),
    essential: row.essential === 1,
    state: row.state,
    ref: row.ref === null ? null : (JSON.parse(row.ref) as StoredRef),
    attempts: row.attempts,
    notBeforeMs: row.not_before_ms,
  };
}

/** Plans acts whose key is new. */
export async function insertActs(db: Kysely<Tables>, acts: NewAct[], nowMs: number): Promise<void> {
  for (const act of acts) {
    await db
      .insertInto('acts')
      .values({
        key: act.key,
        lane: act.lane,
        submission: act.submission,
        payload: JSON.stringify(act.payload),
        essential: act.essential ? 1 : 0,
        state: 'planned',
        attempts: 0,
        not_before_ms: 0,
        created_ms: nowMs,
        updated_ms: nowMs,
      })
      .onConflict((c) => c.column('key').doNothing())
      .execute();
  }
}

/** One act by its key. */
export async function findAct(db: Kysely<Tables>, key: string): Promise<Act | null> {
  const row = await db.selectFrom('acts').selectAll().where('key', '=', key).executeTakeFirst();
  return row === undefined ? null : actOf(row);
}

/** The first open act of each lane that may be done now, in the order of planning. */
export async function findDueActs(db: Kysely<Tables>, nowMs: number, limit: number): Promise<Act[]> {
  const rows = await db
    .selectFrom('acts')
    .selectAll()
    .where('state', 'in', ['planned', 'doing'])
    .where((eb) => eb.or([eb('not_before_ms', '<=', nowMs), eb('not_before_ms', '>', nowMs + longestWaitMs)]))
    .where(
      sql<boolean>`not exists (select 1 from acts as earlier where earlier.lane = acts.lane and earlier.state in ('planned', 'doing') and earlier.seq < acts.seq)`,
    )
    .orderBy('seq')
    .limit(limit)
    .execute();
  return rows.map(actOf);
}

/** Ends an act and, with the last of them, its submission. Runs inside the caller's transaction. */
export async function endAct(
  db: Kysely<Tables>,
  key: string,
  end: { ref: StoredRef | null } | { error: string },
  nowMs: number,
): Promise<void> {
  const failed = 'error' in end;
  await db
    .updateTable('acts')
    .set({
      state: failed ? 'failed' : 'done',
      ref: failed || end.ref === null ? null : JSON.stringify(end.ref),
      error: failed ? end.error : null,
      updated_ms: nowMs,
    })
    .where('key', '=', key)
    .execute();
  const act = await findAct(db, key);
  if (act === null || act.submission === null) return;
  // Writing the submission first makes the ends of its other acts wait: of two that end at once, the later sees both.
  await db.updateTable('submissions').set({ updated_ms: nowMs }).where('id', '=', act.submission).execute();
  const rows = await db.selectFrom('acts').select(['state', 'essential']).where('submission', '=', act.submission).execute();
  if (rows.some((row) => row.state === 'planned' || row.state === 'doing')) return;
  const lost = rows.some((row) => row.essential === 1 && row.state === 'failed');
  await db
    .updateTable('submissions')
    .set(({ fn, ref, val }) => ({
      state: lost ? 'undeliverable' : 'answered',
      // A clip that goes to the coaches later was answered before.
      answered_ms: fn.coalesce(ref('answered_ms'), val(nowMs)),
      updated_ms: nowMs,
    }))
    .where('id', '=', act.submission)
    .where('state', '=', 'answering')
    .execute();
}

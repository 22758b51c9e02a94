import { type Kysely, sql } from 'kysely';
import { endAct, findAct, findDueActs, insertActs } from './acts.ts';
import { createArchive } from './archive.ts';
import { noteCautions } from './cautions.ts';
import { createDesks } from './desks.ts';
import { emptyLog } from './empty-log.ts';
import { deleteOld } from './forget.ts';
import { passingActs } from './forget-member.ts';
import { isForgotten } from './forgotten-marks.ts';
import { type JobRow, type Ledger, longestWaitMs, type SubmissionState } from './port.ts';
import { createRuleBook } from './rule-versions.ts';
import { changedColumns, rowOf, submissionOf } from './submissions.ts';
import type { Engine, Tables } from './tables.ts';
import { orUndone } from './undone.ts';

const botMoves: SubmissionState[] = ['received', 'spooled', 'judged', 'failed', 'set-aside'];
const unjudged: SubmissionState[] = ['received', 'spooled', 'queued', 'measuring'];

/** The ledger over an open database whose tables are up to date. */
export function createLedger(db: Kysely<Tables>, engine: Engine): Ledger {
  return {
    receive: (submission, acts, nowMs) =>
      db.transaction().execute(async (tx) => {
        if (await isForgotten(tx, submission.id)) return false;
        const { numInsertedOrUpdatedRows } = await tx
          .insertInto('submissions')
          .values(rowOf(submission, nowMs))
          .onConflict((c) => c.column('id').doNothing())
          .executeTakeFirst();
        if (numInsertedOrUpdatedRows !== 1n) return false;
        await insertActs(tx, acts, nowMs);
        return true;
      }),

    async submission(id) {
      const row = await db.selectFrom('submissions').selectAll().where('id', '=', id).executeTakeFirst();
      return row === undefined ? null : submissionOf(row);
    },

    async inLane(lane) {
      const rows = await db.selectFrom('submissions').selectAll().where('lane', '=', lane).orderBy('seq').execute();
      return rows.map(submissionOf);
    },

    async due(nowMs, limit, states = botMoves) {
      const rows = await db
        .selectFrom('submissions')
        .select('id')
        .where('state', 'in', states)
        .where((eb) => eb.or([eb('not_before_ms', '<=', nowMs), eb('not_before_ms', '>', nowMs + longestWaitMs)]))
        .orderBy('seq')
        .limit(limit)
        .execute();
      return rows.map((row) => row.id);
    },

    async nextDueMs(nowMs) {
      const min = sql<number | null>`min(not_before_ms)`.as('ms');
      const submission = await db
        .selectFrom('submissions')
        .select(min)
        .where('state', 'in', botMoves)
        .where('not_before_ms', '>', nowMs)
        .where('not_before_ms', '<=', nowMs + longestWaitMs)
        .executeTakeFirst();
      const act = await db
        .selectFrom('acts')
        .select(min)
        .where('state', 'in', ['planned', 'doing'])
        .where('not_before_ms', '>', nowMs)
        .where('not_before_ms', '<=', nowMs + longestWaitMs)
        .executeTakeFirst();
      const times = [submission?.ms, act?.ms].filter((ms) => ms !== null && ms !== undefined);
      return times.length === 0 ? null : Math.min(...times);
    },

    async waiting(beforeMs, limit) {
      const rows = await db
        .selectFrom('submissions')
        .selectAll()
        .where('state', 'in', unjudged)
        .where('created_ms', '<=', beforeMs)
        .orderBy('seq')
        .limit(limit)
        .execute();
      return rows.map(submissionOf);
    },

    async inState(states) {
      const rows = await db.selectFrom('submissions').select('id').where('state', 'in', states).orderBy('seq').execute();
      return rows.map((row) => row.id);
    },

    async spooledUntil(untilMs, limit) {
      const rows = await db
        .selectFrom('submissions')
        .select('id')
        .where('state', 'in', ['answered', 'undeliverable'])
        .where('clip_path', 'is not', null)
        .where('answered_ms', '<=', untilMs)
        .orderBy('seq')
        .limit(limit)
        .execute();
      return rows.map((row) => row.id);
    },

    async forgetFiles(id, nowMs) {
      await db
        .updateTable('submissions')
        .set({ clip_path: null, trimmed_path: null, updated_ms: nowMs })
        .where('id', '=', id)
        .execute();
    },

    async forget(untilMs, limit) {
      const ids = await db.transaction().execute((tx) => deleteOld(tx, untilMs, limit));
      if (ids.length > 0) await emptyLog(db, engine);
      return ids;
    },

    move: (id, from, to, nowMs, change = {}, acts = []) =>
      orUndone(
        db.transaction().execute(async (tx) => {
          const { numUpdatedRows } = await tx
            .updateTable('submissions')
            .set({ attempts: 0, not_before_ms: 0, ...changedColumns(change), state: to, updated_ms: nowMs })
            .where('id', '=', id)
            .where('state', 'in', from)
            .executeTakeFirst();
          if (numUpdatedRows !== 1n) return false;
          if (change.cautions) await noteCautions(tx, id, nowMs);
          await insertActs(tx, acts, nowMs);
          return true;
        }),
      ),

    plan: (acts, nowMs) => db.transaction().execute((tx) => insertActs(tx, acts, nowMs)),
    act: (key) => findAct(db, key),
    dueActs: (nowMs, limit) => findDueActs(db, nowMs, limit),

    async beginAct(key, nowMs) {
      await db
        .updateTable('acts')
        .set((eb) => ({ state: 'doing', attempts: eb('attempts', '+', 1), updated_ms: nowMs }))
        .where('key', '=', key)
        .execute();
    },

    async postponeAct(key, notBeforeMs, error, nowMs) {
      await db.updateTable('acts').set({ not_before_ms: notBeforeMs, error, updated_ms: nowMs }).where('key', '=', key).execute();
    },

    async endAct(key, end, nowMs) {
      if (!key.startsWith(passingActs)) return db.transaction().execute((tx) => endAct(tx, key, end, nowMs));
      await db.deleteFrom('acts').where('key', '=', key).execute();
      await emptyLog(db, engine);
    },

    async cursor(name) {
      const row = await db.selectFrom('cursors').select('value').where('name', '=', name).executeTakeFirst();
      return row?.value ?? null;
    },

    async setCursor(name, value) {
      await db
        .insertInto('cursors')
        .values({ name, value })
        .onConflict((c) => c.column('name').doUpdateSet({ value }))
        .execute();
    },

    async atMostEvery(name, everyMs, nowMs) {
      const value = String(nowMs);
      const { numInsertedOrUpdatedRows } = await db
        .insertInto('cursors')
        .values({ name, value })
        .onConflict((c) =>
          c
            .column('name')
            .doUpdateSet({ value })
            .where(({ eb, or }) => {
              const lastMs = sql<number>`cast(cursors.value as bigint)`;
              return or([eb(lastMs, '<=', nowMs - everyMs), eb(lastMs, '>', nowMs)]);
            }),
        )
        .executeTakeFirst();
      return numInsertedOrUpdatedRows === 1n;
    },

    jobs: {
      async all() {
        const rows = await db.selectFrom('jobs').selectAll().orderBy('seq').execute();
        return rows.map(({ seq: _, ...job }): JobRow => job);
      },
      async add(job) {
        const { numInsertedOrUpdatedRows } = await db
          .insertInto('jobs')
          .values(job)
          .onConflict((c) => c.column('id').doNothing())
          .executeTakeFirst();
        return numInsertedOrUpdatedRows === 1n;
      },
      async change(id, change) {
        await db.updateTable('jobs').set(change).where('id', '=', id).execute();
      },
      async remove(id) {
        await db.deleteFrom('jobs').where('id', '=', id).execute();
      },
    },

    ...createDesks(db, engine),
    rules: createRuleBook(db),
    archive: createArchive(db),
    close: () => db.destroy(),
  };
}

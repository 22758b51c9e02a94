import type { Kysely, Selectable, Transaction } from 'kysely';
import { insertActs } from './acts.ts';
import { emptyLog } from './empty-log.ts';
import { forgetMember } from './forget-member.ts';
import { countSaid, passOn } from './pass-on.ts';
import { correctionsSince, earlierOf } from './past-clips.ts';
import type { Evidence, Ledger, NewEvidence, StoredRequest } from './port.ts';
import { submissionOf } from './submissions.ts';
import type { Engine, Tables } from './tables.ts';

type Parts = Pick<Ledger, 'desk' | 'requests' | 'evidence' | 'members' | 'audit'>;

const entryOf = (row: Selectable<Tables['desk']>) => ({
  submission: row.submission,
  platform: row.platform,
  state: row.state,
  coachId: row.coach_id,
  coachName: row.coach_name,
  createdMs: row.created_ms,
  takenMs: row.taken_ms,
  endedMs: row.ended_ms,
});

const requestOf = (row: Selectable<Tables['requests']>): StoredRequest => ({
  id: row.id,
  platform: row.platform,
  memberId: row.member_id,
  lift: row.lift,
  view: row.view,
  note: row.note,
  clipsLeft: row.clips_left,
  untilMs: row.until_ms,
  byId: row.by_id,
  byName: row.by_name,
  createdMs: row.created_ms,
  closedMs: row.closed_ms,
});

/** One row of evidence. */
export const evidenceOf = (row: Selectable<Tables['evidence']>): Evidence => ({
  id: row.id,
  submission: row.submission,
  kind: row.kind as Evidence['kind'],
  rule: row.rule,
  reason: row.reason,
  byId: row.by_id,
  byName: row.by_name,
  atMs: row.at_ms,
});

/** Keeps what was said; false when its id is known. Runs inside the caller's transaction. */
async function insertEvidence(db: Kysely<Tables>, said: NewEvidence, nowMs: number): Promise<boolean> {
  const { id, submission, kind, rule, reason, byId, byName } = said;
  const { numInsertedOrUpdatedRows } = await db
    .insertInto('evidence')
    .values({ id, submission, kind, rule, reason, by_id: byId, by_name: byName, at_ms: nowMs })
    .onConflict((c) => c.column('id').doNothing())
    .executeTakeFirst();
  return numInsertedOrUpdatedRows === 1n;
}

/** The parts of the ledger for coaches, members and moderators, over an open database. */
export function createDesks(db: Kysely<Tables>, engine: Engine): Parts {
  const openRequests = (from: Kysely<Tables> | Transaction<Tables>, platform: string, memberId: string) =>
    from
      .selectFrom('requests')
      .selectAll()
      .where('platform', '=', platform)
      .where('member_id', '=', memberId)
      .where('closed_ms', 'is', null)
      .orderBy('seq', 'desc');
  const isOpen = (nowMs: number) => (request: StoredRequest) => request.untilMs === null || request.untilMs > nowMs;

  return {
    desk: {
      async put(submission, platform, nowMs) {
        await db
          .insertInto('desk')
          .values({ submission, platform, state: 'waiting', created_ms: nowMs })
          .onConflict((c) => c.column('submission').doNothing())
          .execute();
      },
      async entry(submission) {
        const row = await db.selectFrom('desk').selectAll().where('submission', '=', submission).executeTakeFirst();
        return row === undefined ? null : entryOf(row);
      },
      passOn: (submission, evidence, limit, nowMs) => passOn(db, submission, evidence, limit, nowMs),
      async list(platform, states, limit) {
        const query = db.selectFrom('desk').selectAll().where('platform', '=', platform).where('state', 'in', states);
        return (await query.orderBy('seq').limit(limit).execute()).map(entryOf);
      },
      async endedSince(platform, sinceMs) {
        const query = db.selectFrom('desk').selectAll().where('platform', '=', platform).where('ended_ms', '>=', sinceMs);
        return (await query.orderBy('seq').execute()).map(entryOf);
      },
      earlierOf: (s, lift, limit) => earlierOf(db, s, lift, limit),
      correctionsSince: (platform, sinceMs) => correctionsSince(db, platform, sinceMs),
      move: (submission, { from, to, heldBy, coach }, nowMs, acts = [], evidence = []) =>
        db.transaction().execute(async (tx) => {
          let query = tx.updateTable('desk').set({
            state: to,
            ...(to === 'waiting' ? { coach_id: null, coach_name: null, taken_ms: null } : {}),
            ...(coach === undefined ? {} : { coach_id: coach.id, coach_name: coach.name }),
            ...(to === 'taken' ? { taken_ms: nowMs } : {}),
            ended_ms: to === 'done' || to === 'unusable' ? nowMs : null,
          });
          query = query.where('submission', '=', submission).where('state', 'in', from);
          if (heldBy !== undefined) query = query.where('coach_id', '=', heldBy);
          const { numUpdatedRows } = await query.executeTakeFirst();
          if (numUpdatedRows !== 1n) return false;
          await insertActs(tx, acts, nowMs);
          for (const said of evidence) await insertEvidence(tx, said, nowMs);
          return true;
        }),
    },

    requests: {
      add: (request, nowMs, acts = []) =>
        db.transaction().execute(async (tx) => {
          const row = {
            id: request.id,
            platform: request.platform,
            member_id: request.memberId,
            lift: request.lift,
            view: request.view,
            note: request.note,
            clips_left: request.clipsLeft,
            until_ms: request.untilMs,
            by_id: request.byId,
            by_name: request.byName,
            created_ms: nowMs,
          };
          const query = tx.insertInto('requests').values(row);
          const { numInsertedOrUpdatedRows } = await query.onConflict((c) => c.column('id').doNothing()).executeTakeFirst();
          if (numInsertedOrUpdatedRows !== 1n) return false;
          await tx
            .updateTable('requests')
            .set({ closed_ms: nowMs })
            .where('platform', '=', request.platform)
            .where('member_id', '=', request.memberId)
            .where('lift', '=', request.lift)
            .where('closed_ms', 'is', null)
            .where('id', '!=', request.id)
            .execute();
          await insertActs(tx, acts, nowMs);
          return true;
        }),
      async open(platform, memberId, lift, nowMs) {
        const rows = await openRequests(db, platform, memberId).where('lift', '=', lift).execute();
        return rows.map(requestOf).find(isOpen(nowMs)) ?? null;
      },
      async openOf(platform, memberId, nowMs) {
        return (await openRequests(db, platform, memberId).execute()).map(requestOf).filter(isOpen(nowMs));
      },
      async find(id) {
        const row = await db.selectFrom('requests').selectAll().where('id', '=', id).executeTakeFirst();
        return row === undefined ? null : requestOf(row);
      },
      serve: (id, submission, nowMs) =>
        db.transaction().execute(async (tx) => {
          const counted = await tx.selectFrom('submissions').select('request').where('id', '=', submission).executeTakeFirst();
          if (counted?.request === id) return true;
          // One statement, so that of two clips at once only as many are counted as were asked for.
          const { numUpdatedRows } = await tx
            .updateTable('requests')
            .set((eb) => ({
              clips_left: eb('clips_left', '-', 1),
              closed_ms: eb.case().when('clips_left', '=', 1).then(nowMs).else(null).end(),
            }))
            .where('id', '=', id)
            .where('closed_ms', 'is', null)
            .executeTakeFirst();
          if (numUpdatedRows !== 1n) return false;
          await tx.updateTable('submissions').set({ request: id, updated_ms: nowMs }).where('id', '=', submission).execute();
          return true;
        }),
      close: (id, nowMs, acts = []) =>
        db.transaction().execute(async (tx) => {
          const query = tx.updateTable('requests').set({ closed_ms: nowMs }).where('id', '=', id).where('closed_ms', 'is', null);
          if ((await query.executeTakeFirst()).numUpdatedRows !== 1n) return false;
          await insertActs(tx, acts, nowMs);
          return true;
        }),
    },

    evidence: {
      add: (evidence, nowMs, acts = []) =>
        db.transaction().execute(async (tx) => {
          if (!(await insertEvidence(tx, evidence, nowMs))) return false;
          await insertActs(tx, acts, nowMs);
          return true;
        }),
      async of(submission) {
        const rows = await db.selectFrom('evidence').selectAll().where('submission', '=', submission).orderBy('seq').execute();
        return rows.map(evidenceOf);
      },
      count: (platform, memberId, kind, sinceMs) => countSaid(db, platform, memberId, kind, sinceMs),
      async since(sinceMs) {
        const rows = await db.selectFrom('evidence').selectAll().where('at_ms', '>=', sinceMs).orderBy('seq').execute();
        return rows.map(evidenceOf);
      },
    },

    members: {
      async get(platform, memberId) {
        const query = db.selectFrom('members').selectAll().where('platform', '=', platform).where('member_id', '=', memberId);
        const row = await query.executeTakeFirst();
        return { statureCm: row?.stature_cm ?? null, cautionedMs: row?.cautioned_ms ?? null };
      },
      async clips(platform, memberId, limit) {
        const query = db.selectFrom('submissions').selectAll().where('platform', '=', platform).where('author_id', '=', memberId);
        const judged = query.where('judgement', 'is not', null).where('facts', 'is not', null);
        return (await judged.orderBy('seq', 'desc').limit(limit).execute()).map(submissionOf);
      },
      async forget(who, nowMs, actsAfter) {
        const forgotten = await db.transaction().execute((tx) => forgetMember(tx, who, nowMs, actsAfter));
        await emptyLog(db, engine);
        return forgotten;
      },
      async set(platform, memberId, change) {
        const columns = {
          ...(change.statureCm === undefined ? {} : { stature_cm: change.statureCm }),
          ...(change.cautionedMs === undefined ? {} : { cautioned_ms: change.cautionedMs }),
        };
        if (Object.keys(columns).length === 0) return;
        await db
          .insertInto('members')
          .values({ platform, member_id: memberId, ...columns })
          .onConflict((c) => c.columns(['platform', 'member_id']).doUpdateSet(columns))
          .execute();
      },
    },

    audit: {
      async note({ atMs, platform, personId, personName, act, subject, allowed }) {
        const person = { platform, person_id: personId, person_name: personName };
        const row = { at_ms: atMs, ...person, act, subject, allowed: allowed ? 1 : 0 };
        await db.insertInto('audit').values(row).execute();
      },
      async last(limit) {
        const rows = await db.selectFrom('audit').selectAll().orderBy('seq', 'desc').limit(limit).execute();
        return rows.map((row) => ({
          atMs: row.at_ms,
          platform: row.platform,
          personId: row.person_id,
          personName: row.person_name,
          act: row.act,
          subject: row.subject,
          allowed: row.allowed === 1,
        }));
      },
    },
  };
}

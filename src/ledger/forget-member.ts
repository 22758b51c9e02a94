import type { Kysely } from 'kysely';
import { actOf, insertActs } from './acts.ts';
import { deleteSubmissions } from './forget.ts';
import { markForgotten } from './forgotten-marks.ts';
import type { Forgotten, NewAct } from './port.ts';
import { submissionOf } from './submissions.ts';
import type { Tables } from './tables.ts';

/** Begins the keys of acts that leave nothing behind when they end: what follows a member's wish to be forgotten. */
export const passingActs = 'forget/';

const escaped = (text: string) => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');

/** JSON with the names in its texts replaced; whole words only. */
function withoutNames(json: string, names: readonly string[], instead: string): string {
  const pattern = new RegExp(`(?<![\\p{L}\\p{N}])(?:${names.map(escaped).join('|')})(?![\\p{L}\\p{N}])`, 'gu');
  const isText = (key: string) => key === 'text' || key === 'alt' || key === 'label';
  const clean = (key: string, value: unknown) =>
    isText(key) && typeof value === 'string' ? value.replace(pattern, instead) : value;
  return JSON.stringify(JSON.parse(json), clean);
}

/** See `Members.forget`. Runs inside the caller's transaction. */
export async function forgetMember(
  db: Kysely<Tables>,
  who: { platform: string; memberId: string; instead: string },
  nowMs: number,
  actsAfter: (forgotten: Forgotten) => NewAct[],
): Promise<Forgotten> {
  const { platform, memberId, instead } = who;
  const rows = await db
    .selectFrom('submissions')
    .selectAll()
    .where('platform', '=', platform)
    .where('author_id', '=', memberId)
    .orderBy('seq')
    .execute();
  const ids = rows.map(({ id }) => id);
  const acts = ids.length === 0 ? [] : await db.selectFrom('acts').selectAll().where('submission', 'in', ids).execute();
  const forgotten = { submissions: rows.map(submissionOf), acts: acts.map(actOf) };
  await deleteSubmissions(db, ids);
  if (ids.length > 0) await db.deleteFrom('jobs').where('id', 'in', ids).execute();
  await db.deleteFrom('requests').where('platform', '=', platform).where('member_id', '=', memberId).execute();
  await db.deleteFrom('members').where('platform', '=', platform).where('member_id', '=', memberId).execute();
  await db
    .deleteFrom('audit')
    .where('platform', '=', platform)
    .where((eb) => eb.or([eb('person_id', '=', memberId), eb('subject', '=', memberId)]))
    .execute();
  const names = [...new Set(rows.map(({ author_name }) => author_name))].filter((name) => name !== '');
  if (names.length > 0) {
    const others = await db.selectFrom('acts').select(['seq', 'payload']).where('submission', 'is', null).execute();
    for (const { seq, payload } of others) {
      const next = withoutNames(payload, names, instead);
      if (next !== payload) await db.updateTable('acts').set({ payload: next }).where('seq', '=', seq).execute();
    }
  }
  await markForgotten(db, ids, nowMs);
  await insertActs(db, actsAfter(forgotten), nowMs);
  return forgotten;
}

import type { Kysely } from 'kysely';
import { Facts } from '../facts/facts.ts';
import { evidenceOf } from './desks.ts';
import type { ArchivedClip, Evidence, Ledger, StoredRef } from './port.ts';
import type { Tables } from './tables.ts';

const atOnce = 500; // ids in one query; SQLite takes 32,766 variables

/** What was said of each of these clips, oldest first. */
async function evidenceFor(db: Kysely<Tables>, ids: readonly string[]): Promise<Map<string, Evidence[]>> {
  const bySubmission = new Map<string, Evidence[]>();
  for (let i = 0; i < ids.length; i += atOnce) {
    const some = ids.slice(i, i + atOnce);
    const rows = await db.selectFrom('evidence').selectAll().where('submission', 'in', some).orderBy('seq').execute();
    for (const row of rows) bySubmission.set(row.submission, [...(bySubmission.get(row.submission) ?? []), evidenceOf(row)]);
  }
  return bySubmission;
}

/** The part of the ledger that looks at many judged clips at once, over an open database. */
export function createArchive(db: Kysely<Tables>): Ledger['archive'] {
  return {
    async judged(which) {
      let query = db
        .selectFrom('submissions as s')
        .leftJoin('desk as d', 'd.submission', 's.id')
        .leftJoin('requests as r', 'r.id', 's.request')
        .select([
          ...(['s.seq', 's.id', 's.platform', 's.channel', 's.message', 's.thread', 's.author_id', 's.author_name'] as const),
          ...(['s.root', 's.created_ms', 's.answered_ms', 's.facts', 's.judgement', 's.rules_version', 's.request'] as const),
          ...(['d.state as desk', 'r.lift as request_lift', 'r.view as request_view'] as const),
        ])
        .where('s.facts', 'is not', null)
        .where('s.judgement', 'is not', null);
      query =
        'last' in which
          ? query.orderBy('s.seq', 'desc').limit(which.last)
          : query
              .where('s.platform', '=', which.platform)
              .where('s.created_ms', '>', which.fromMs)
              .where('s.created_ms', '<=', which.toMs)
              .orderBy('s.seq', 'desc');
      const rows = (await query.execute()).reverse();
      const evidence = await evidenceFor(
        db,
        rows.map(({ id }) => id),
      );
      const clips = rows.flatMap((row): ArchivedClip[] => {
        const facts = Facts.safeParse(JSON.parse(row.facts ?? 'null'));
        // Without its request the clip cannot be judged as it was.
        if (!facts.success || (row.request !== null && row.request_lift === null)) return [];
        const { platform, channel, message, thread } = row;
        const { request_lift: lift, request_view: view } = row;
        return [
          {
            id: row.id,
            ref: { platform: platform as StoredRef['platform'], channel, message, thread },
            authorId: row.author_id,
            authorName: row.author_name,
            root: row.root,
            createdMs: row.created_ms,
            answeredMs: row.answered_ms,
            facts: facts.data,
            judgement: JSON.parse(row.judgement ?? 'null'),
            rulesVersion: row.rules_version,
            request: lift === null || view === null ? null : { lift, view },
            desk: row.desk,
            evidence: evidence.get(row.id) ?? [],
          },
        ];
      });
      return { clips, unreadable: rows.length - clips.length };
    },
  };
}

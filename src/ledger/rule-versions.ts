import type { Kysely, Selectable } from 'kysely';
import { insertActs } from './acts.ts';
import type { ActsOf, Author, Ledger, Proposal, RuleVersion } from './port.ts';
import type { Tables } from './tables.ts';

const versionOf = (row: Selectable<Tables['rule_versions']>): RuleVersion => ({
  version: row.seq,
  yaml: row.yaml,
  author: row.author,
  authorId: row.author_id,
  reason: row.reason,
  atMs: row.at_ms,
});

const proposalOf = (row: Selectable<Tables['proposals']>): Proposal => ({
  id: row.id,
  platform: row.platform,
  byId: row.by_id,
  byName: row.by_name,
  base: row.base,
  yaml: row.yaml,
  state: row.state,
  createdMs: row.created_ms,
});

const none: ActsOf = () => [];

/** Undoes a transaction whose proposal is older than the rules in force. */
class Stale extends Error {}

async function findNewest(db: Kysely<Tables>): Promise<RuleVersion | null> {
  const row = await db.selectFrom('rule_versions').selectAll().orderBy('seq', 'desc').limit(1).executeTakeFirst();
  return row === undefined ? null : versionOf(row);
}

/** Of two that come at once after the same version, the index on `after` lets one in. Runs inside the caller's transaction. */
async function insertVersion(
  db: Kysely<Tables>,
  yaml: string,
  base: number | null,
  { name, id, reason }: Author,
  nowMs: number,
  acts: ActsOf,
): Promise<number | null> {
  if (((await findNewest(db))?.version ?? null) !== base) return null;
  const row = await db
    .insertInto('rule_versions')
    .values({ yaml, author: name, author_id: id, reason, at_ms: nowMs, after: base ?? 0 })
    .onConflict((c) => c.column('after').doNothing())
    .returning('seq')
    .executeTakeFirst();
  if (row === undefined) return null;
  await insertActs(db, acts(row.seq), nowMs);
  return row.seq;
}

/** The part of the ledger that keeps the rules, over an open database. */
export function createRuleBook(db: Kysely<Tables>): Ledger['rules'] {
  return {
    fromFile: (yaml, file, nowMs) =>
      db.transaction().execute(async (tx) => {
        const query = tx.selectFrom('rule_versions').selectAll().where('author', '=', file).where('author_id', 'is', null);
        const last = await query.orderBy('seq', 'desc').limit(1).executeTakeFirst();
        const base = (await findNewest(tx))?.version ?? null;
        if (last?.yaml !== yaml) await insertVersion(tx, yaml, base, { name: file, id: null, reason: '' }, nowMs, none);
        const newest = await findNewest(tx);
        if (newest === null) throw new Error('a rule version was not kept');
        return newest;
      }),
    newest: () => findNewest(db),
    async version(version) {
      const row = await db.selectFrom('rule_versions').selectAll().where('seq', '=', version).executeTakeFirst();
      return row === undefined ? null : versionOf(row);
    },
    async history(limit) {
      const rows = await db.selectFrom('rule_versions').selectAll().orderBy('seq', 'desc').limit(limit).execute();
      return rows.map(versionOf);
    },
    add: (yaml, base, author, nowMs, acts = none) =>
      db.transaction().execute((tx) => insertVersion(tx, yaml, base, author, nowMs, acts)),

    async propose({ id, platform, byId, byName, base, yaml }, nowMs) {
      const { numInsertedOrUpdatedRows } = await db
        .insertInto('proposals')
        .values({ id, platform, by_id: byId, by_name: byName, base, yaml, state: 'open', created_ms: nowMs })
        .onConflict((c) => c.column('id').doNothing())
        .executeTakeFirst();
      return numInsertedOrUpdatedRows === 1n;
    },
    async proposal(id) {
      const row = await db.selectFrom('proposals').selectAll().where('id', '=', id).executeTakeFirst();
      return row === undefined ? null : proposalOf(row);
    },
    apply: (id, author, nowMs, acts = none) =>
      db
        .transaction()
        .execute(async (tx) => {
          const row = await tx
            .updateTable('proposals')
            .set({ state: 'applied' })
            .where('id', '=', id)
            .where('state', '=', 'open')
            .returning(['yaml', 'base'])
            .executeTakeFirst();
          if (row === undefined) return { kind: 'not-open' } as const;
          const version = await insertVersion(tx, row.yaml, row.base, author, nowMs, acts);
          if (version === null) throw new Stale();
          return { kind: 'applied', version } as const;
        })
        .catch((error: unknown) => {
          if (error instanceof Stale) return { kind: 'stale' } as const;
          throw error;
        }),
    async drop(id) {
      const query = db.updateTable('proposals').set({ state: 'dropped' }).where('id', '=', id).where('state', '=', 'open');
      return (await query.executeTakeFirst()).numUpdatedRows === 1n;
    },
  };
}

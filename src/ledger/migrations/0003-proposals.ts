import type { Migration } from 'kysely';
import type { Engine } from '../tables.ts';

/** Changes of rules that are proposed, who made a version, and that each version follows one other. */
export function proposals(engine: Engine): Migration {
  const seqType = engine === 'sqlite' ? 'integer' : 'bigserial';
  return {
    async up(db) {
      await db.schema.alterTable('rule_versions').addColumn('author_id', 'text').execute();
      await db.schema.alterTable('rule_versions').addColumn('after', 'bigint').execute();
      await db.schema.createIndex('rule_versions_after').on('rule_versions').column('after').unique().execute();
      await db.schema
        .createTable('proposals')
        .addColumn('seq', seqType, (c) => (engine === 'sqlite' ? c.primaryKey().autoIncrement() : c.primaryKey()))
        .addColumn('id', 'text', (c) => c.notNull().unique())
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('by_id', 'text', (c) => c.notNull())
        .addColumn('by_name', 'text', (c) => c.notNull())
        .addColumn('base', 'bigint', (c) => c.notNull())
        .addColumn('yaml', 'text', (c) => c.notNull())
        .addColumn('state', 'text', (c) => c.notNull())
        .addColumn('created_ms', 'bigint', (c) => c.notNull())
        .execute();
    },
  };
}

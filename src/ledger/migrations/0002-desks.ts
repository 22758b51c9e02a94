import type { ColumnDefinitionBuilder, Migration } from 'kysely';
import type { Engine } from '../tables.ts';

/** The coaches' desk, view requests, evidence about rules, what is kept of a member, and who did what. */
export function desks(engine: Engine): Migration {
  const seqType = engine === 'sqlite' ? 'integer' : 'bigserial';
  const seq = (column: ColumnDefinitionBuilder) =>
    engine === 'sqlite' ? column.primaryKey().autoIncrement() : column.primaryKey();
  return {
    async up(db) {
      await db.schema.alterTable('submissions').addColumn('request', 'text').execute();
      await db.schema
        .createTable('desk')
        .addColumn('seq', seqType, seq)
        .addColumn('submission', 'text', (c) => c.notNull().unique())
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('state', 'text', (c) => c.notNull())
        .addColumn('coach_id', 'text')
        .addColumn('coach_name', 'text')
        .addColumn('created_ms', 'bigint', (c) => c.notNull())
        .addColumn('taken_ms', 'bigint')
        .addColumn('ended_ms', 'bigint')
        .execute();
      await db.schema.createIndex('desk_state').on('desk').columns(['platform', 'state', 'seq']).execute();
      await db.schema
        .createTable('requests')
        .addColumn('seq', seqType, seq)
        .addColumn('id', 'text', (c) => c.notNull().unique())
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('member_id', 'text', (c) => c.notNull())
        .addColumn('lift', 'text', (c) => c.notNull())
        .addColumn('view', 'text', (c) => c.notNull())
        .addColumn('note', 'text', (c) => c.notNull())
        .addColumn('clips_left', 'integer')
        .addColumn('until_ms', 'bigint')
        .addColumn('by_id', 'text', (c) => c.notNull())
        .addColumn('by_name', 'text', (c) => c.notNull())
        .addColumn('created_ms', 'bigint', (c) => c.notNull())
        .addColumn('closed_ms', 'bigint')
        .execute();
      await db.schema.createIndex('requests_member').on('requests').columns(['platform', 'member_id', 'closed_ms']).execute();
      await db.schema
        .createTable('evidence')
        .addColumn('seq', seqType, seq)
        .addColumn('id', 'text', (c) => c.notNull().unique())
        .addColumn('submission', 'text', (c) => c.notNull())
        .addColumn('kind', 'text', (c) => c.notNull())
        .addColumn('rule', 'text')
        .addColumn('reason', 'text', (c) => c.notNull())
        .addColumn('by_id', 'text', (c) => c.notNull())
        .addColumn('by_name', 'text', (c) => c.notNull())
        .addColumn('at_ms', 'bigint', (c) => c.notNull())
        .execute();
      await db.schema.createIndex('evidence_submission').on('evidence').columns(['submission']).execute();
      await db.schema
        .createTable('members')
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('member_id', 'text', (c) => c.notNull())
        .addColumn('stature_cm', 'integer')
        .addColumn('cautioned_ms', 'bigint')
        .addPrimaryKeyConstraint('members_key', ['platform', 'member_id'])
        .execute();
      await db.schema
        .createTable('audit')
        .addColumn('seq', seqType, seq)
        .addColumn('at_ms', 'bigint', (c) => c.notNull())
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('person_id', 'text', (c) => c.notNull())
        .addColumn('person_name', 'text', (c) => c.notNull())
        .addColumn('act', 'text', (c) => c.notNull())
        .addColumn('subject', 'text', (c) => c.notNull())
        .addColumn('allowed', 'integer', (c) => c.notNull())
        .execute();
    },
  };
}

import type { ColumnDefinitionBuilder, Migration } from 'kysely';
import type { Engine } from '../tables.ts';

/** Submissions, acts, jobs, cursors and rule versions. */
export function first(engine: Engine): Migration {
  const seqType = engine === 'sqlite' ? 'integer' : 'bigserial';
  const seq = (column: ColumnDefinitionBuilder) =>
    engine === 'sqlite' ? column.primaryKey().autoIncrement() : column.primaryKey();
  return {
    async up(db) {
      await db.schema
        .createTable('submissions')
        .addColumn('seq', seqType, seq)
        .addColumn('id', 'text', (c) => c.notNull().unique())
        .addColumn('root', 'text', (c) => c.notNull())
        .addColumn('take_of', 'text')
        .addColumn('lane', 'text', (c) => c.notNull())
        .addColumn('platform', 'text', (c) => c.notNull())
        .addColumn('channel', 'text', (c) => c.notNull())
        .addColumn('message', 'text', (c) => c.notNull())
        .addColumn('thread', 'text')
        .addColumn('file', 'text', (c) => c.notNull())
        .addColumn('author_id', 'text', (c) => c.notNull())
        .addColumn('author_name', 'text', (c) => c.notNull())
        .addColumn('caption', 'text', (c) => c.notNull())
        .addColumn('sent_ms', 'bigint', (c) => c.notNull())
        .addColumn('state', 'text', (c) => c.notNull())
        .addColumn('error_code', 'text')
        .addColumn('facts', 'text')
        .addColumn('judgement', 'text')
        .addColumn('verdict', 'text')
        .addColumn('rules_version', 'bigint')
        .addColumn('timings', 'text')
        .addColumn('clip_path', 'text')
        .addColumn('trimmed_path', 'text')
        .addColumn('attempts', 'integer', (c) => c.notNull())
        .addColumn('not_before_ms', 'bigint', (c) => c.notNull())
        .addColumn('created_ms', 'bigint', (c) => c.notNull())
        .addColumn('updated_ms', 'bigint', (c) => c.notNull())
        .addColumn('answered_ms', 'bigint')
        .execute();
      await db.schema.createIndex('submissions_state').on('submissions').columns(['state', 'not_before_ms']).execute();
      await db.schema.createIndex('submissions_lane').on('submissions').columns(['lane']).execute();
      await db.schema.createIndex('submissions_author').on('submissions').columns(['platform', 'author_id']).execute();
      await db.schema
        .createTable('acts')
        .addColumn('seq', seqType, seq)
        .addColumn('key', 'text', (c) => c.notNull().unique())
        .addColumn('lane', 'text', (c) => c.notNull())
        .addColumn('submission', 'text')
        .addColumn('payload', 'text', (c) => c.notNull())
        .addColumn('essential', 'integer', (c) => c.notNull())
        .addColumn('state', 'text', (c) => c.notNull())
        .addColumn('ref', 'text')
        .addColumn('attempts', 'integer', (c) => c.notNull())
        .addColumn('not_before_ms', 'bigint', (c) => c.notNull())
        .addColumn('error', 'text')
        .addColumn('created_ms', 'bigint', (c) => c.notNull())
        .addColumn('updated_ms', 'bigint', (c) => c.notNull())
        .addForeignKeyConstraint('acts_submission', ['submission'], 'submissions', ['id'])
        .execute();
      await db.schema.createIndex('acts_lane').on('acts').columns(['lane', 'state', 'seq']).execute();
      await db.schema.createIndex('acts_state').on('acts').columns(['state', 'not_before_ms']).execute();
      await db.schema.createIndex('acts_submission_state').on('acts').columns(['submission', 'state']).execute();
      await db.schema
        .createTable('jobs')
        .addColumn('seq', seqType, seq)
        .addColumn('id', 'text', (c) => c.notNull().unique())
        .addColumn('member', 'text', (c) => c.notNull())
        .addColumn('turn', 'integer', (c) => c.notNull())
        .addColumn('task', 'text', (c) => c.notNull())
        .addColumn('deaths', 'integer', (c) => c.notNull())
        .addColumn('leases', 'integer', (c) => c.notNull())
        .addColumn('answer', 'text')
        .execute();
      await db.schema
        .createTable('cursors')
        .addColumn('name', 'text', (c) => c.primaryKey())
        .addColumn('value', 'text', (c) => c.notNull())
        .execute();
      await db.schema
        .createTable('rule_versions')
        .addColumn('seq', seqType, seq)
        .addColumn('yaml', 'text', (c) => c.notNull())
        .addColumn('author', 'text', (c) => c.notNull())
        .addColumn('reason', 'text', (c) => c.notNull())
        .addColumn('at_ms', 'bigint', (c) => c.notNull())
        .execute();
    },
  };
}

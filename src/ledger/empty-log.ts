import { type Kysely, sql } from 'kysely';
import type { Engine, Tables } from './tables.ts';

/** Empties SQLite's write-ahead log, which still holds what was deleted. Nothing to do on PostgreSQL. */
export async function emptyLog(db: Kysely<Tables>, engine: Engine): Promise<void> {
  if (engine === 'sqlite') await sql`pragma wal_checkpoint(truncate)`.execute(db);
}

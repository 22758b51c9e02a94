import Database from 'better-sqlite3';
import { Kysely, Migrator, PostgresDialect, SqliteDialect, sql } from 'kysely';
import pg from 'pg';
import { createLedger } from './ledger.ts';
import { migrationsFor } from './migrations/index.ts';
import type { Ledger } from './port.ts';
import type { Engine, Tables } from './tables.ts';

const busyMs = 5000; // chosen: longer than a backup or a write holds the file, shorter than somebody waits for a mark
const int8 = 20; // type oid of bigint, PostgreSQL catalogue pg_type

/** Either a SQLite file or a PostgreSQL address. */
export type LedgerPlace = { file: string } | { databaseUrl: string };

/** The ledger could not be opened or brought up to date; `cause` has the database's words. */
class LedgerError extends Error {
  constructor(
    readonly code: 'ledger-unreachable' | 'ledger-migration-failed' | 'ledger-behind',
    message: string,
    options?: ErrorOptions,
  ) {
    super(message, options);
    this.name = 'LedgerError';
  }
}

function sqlite(file: string): Kysely<Tables> {
  const database = new Database(file, { timeout: busyMs });
  database.pragma('journal_mode = WAL');
  database.pragma('synchronous = FULL');
  database.pragma('foreign_keys = ON');
  database.pragma('secure_delete = ON'); // what is deleted is overwritten
  return new Kysely<Tables>({ dialect: new SqliteDialect({ database }) });
}

function postgres(connectionString: string, more: pg.PoolConfig = {}): Kysely<Tables> {
  const getTypeParser = ((oid: number, format?: 'text') =>
    oid === int8 ? Number : pg.types.getTypeParser(oid, format)) as typeof pg.types.getTypeParser;
  const pool = new pg.Pool({ connectionString, types: { getTypeParser }, connectionTimeoutMillis: busyMs, ...more });
  pool.on('error', () => {}); // an idle connection that breaks is replaced; the next query tells
  pool.on('connect', (client) => client.on('error', () => {})); // one that is in use: its query tells
  return new Kysely<Tables>({ dialect: new PostgresDialect({ pool }) });
}

/** Opens the ledger and brings its tables up to date. Throws LedgerError. One bot works on one ledger. */
export async function openLedger(place: LedgerPlace): Promise<Ledger> {
  const engine: Engine = 'file' in place ? 'sqlite' : 'postgres';
  let db: Kysely<Tables> | undefined;
  try {
    db = 'file' in place ? sqlite(place.file) : postgres(place.databaseUrl);
    await sql`select 1`.execute(db);
  } catch (cause) {
    await db?.destroy();
    throw new LedgerError('ledger-unreachable', `the ledger cannot be opened: ${String(cause)}`, { cause });
  }
  const migrator = new Migrator({ db, provider: { getMigrations: async () => migrationsFor(engine) } });
  const { error } = await migrator.migrateToLatest();
  if (error !== undefined) {
    await db.destroy();
    throw new LedgerError('ledger-migration-failed', `the ledger's tables cannot be brought up to date: ${String(error)}`, {
      cause: error,
    });
  }
  return createLedger(db, engine);
}

/**
 * Opens the ledger to look at it, beside a bot that may run; the database itself refuses to write. Throws LedgerError, `ledger-behind` when
 * its tables are not those of this program.
 */
export async function readLedger(place: LedgerPlace): Promise<Pick<Ledger, 'rules' | 'archive' | 'close'>> {
  let db: Kysely<Tables> | undefined;
  let done: string[];
  try {
    if ('file' in place) {
      const database = new Database(place.file, { readonly: true, timeout: busyMs });
      db = new Kysely<Tables>({ dialect: new SqliteDialect({ database }) });
    } else db = postgres(place.databaseUrl, { options: '-c default_transaction_read_only=on' });
    const { rows } = await sql<{ name: string }>`select name from kysely_migration`.execute(db);
    done = rows.map(({ name }) => name);
  } catch (cause) {
    await db?.destroy();
    throw new LedgerError('ledger-unreachable', `the ledger cannot be read: ${String(cause)}`, { cause });
  }
  const wanted = Object.keys(migrationsFor('file' in place ? 'sqlite' : 'postgres'));
  if (done.length !== wanted.length || wanted.some((name) => !done.includes(name))) {
    await db.destroy();
    throw new LedgerError(
      'ledger-behind',
      'the ledger is of another version of this program: start the bot of this version once',
    );
  }
  const { rules, archive, close } = createLedger(db, 'file' in place ? 'sqlite' : 'postgres');
  return { rules, archive, close };
}

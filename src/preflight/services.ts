import { existsSync } from 'node:fs';
import Database from 'better-sqlite3';
import type { LedgerPlace } from '../ledger/open.ts';
import { type CheckedRow, row } from './row.ts';

const waitMs = 5000; // chosen: a service nearby answers in milliseconds

/** Whether the ledger's database answers; changes nothing in it. */
export async function databaseRow(place: LedgerPlace): Promise<CheckedRow> {
  if ('file' in place) {
    if (!existsSync(place.file)) return row('database', true, 'SQLite, a new file', '');
    try {
      const database = new Database(place.file, { readonly: true, timeout: waitMs });
      const answer = database.pragma('quick_check(1)', { simple: true });
      database.close();
      return row('database', answer === 'ok', `SQLite, ${answer}`, `Restore ${place.file} from a backup.`);
    } catch (error) {
      return row('database', false, String(error), `Restore ${place.file} from a backup, or let this user read it.`);
    }
  }
  const { default: pg } = await import('pg');
  const client = new pg.Client({ connectionString: place.databaseUrl, connectionTimeoutMillis: waitMs, query_timeout: waitMs });
  client.on('error', () => {});
  try {
    await client.connect();
    const { rows } = await client.query<{ version: string }>('select version()');
    return row('database', true, rows[0]?.version.split(' ').slice(0, 2).join(' ') ?? '', '');
  } catch (error) {
    return row(
      'database',
      false,
      told(error),
      'Start PostgreSQL, or correct DATABASE_URL (host, port, user, password, database).',
    );
  } finally {
    await client.end().catch(() => {});
  }
}

/** Whether Redis answers and keeps what it is given. */
export async function redisRow(redisUrl: string): Promise<CheckedRow> {
  const { Redis } = await import('ioredis');
  const options = {
    lazyConnect: true,
    retryStrategy: () => null,
    maxRetriesPerRequest: 0,
    connectTimeout: waitMs,
    commandTimeout: waitMs,
  };
  const redis = new Redis(redisUrl, options);
  let cause: unknown = null; // `connect` itself only says that it is closed
  redis.on('error', (error) => {
    cause = error;
  });
  try {
    await redis.connect();
    const info = await redis.info();
    const of = (name: string) => new RegExp(`^${name}:(\\S+)`, 'm').exec(info)?.[1] ?? 'unknown';
    const policy = of('maxmemory_policy');
    const fix = 'Set maxmemory-policy to noeviction in Redis: with any other it drops clips when its memory is full.';
    return row('Redis', policy === 'noeviction' || policy === 'unknown', `${of('redis_version')}, eviction ${policy}`, fix);
  } catch (error) {
    return row('Redis', false, told(cause ?? error), 'Start Redis, correct REDIS_URL, or unset it to measure inside the bot.');
  } finally {
    redis.disconnect();
  }
}

/** An error that has many inside (each address of a host) says nothing itself. */
function told(error: unknown): string {
  if (error instanceof AggregateError && error.message === '') return error.errors.map((one) => String(one)).join('; ');
  return error instanceof Error ? error.message : String(error);
}

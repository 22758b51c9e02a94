import { setTimeout as wait } from 'node:timers/promises';
import Database from 'better-sqlite3';
import pg from 'pg';

/** Another bot works here. Trying again helps once that one has ended. */
export class AlreadyRunning extends Error {
  readonly code = 'already-running';
  readonly retry = true;
}

/** Held as long as the process lives: the system takes it back whatever ends the process, so nothing stale is ever left. */
export interface Lock {
  release(): Promise<void>;
}

/** A database that nothing refers to is closed by the garbage collector, and its lock with it. */
const held = new Set<object>();

/** Locks a data folder through an empty SQLite `file` in it. Waits up to `waitMs` for a bot that is ending. Throws AlreadyRunning. */
export function lockFolder(file: string, waitMs: number): Lock {
  const database = new Database(file, { timeout: waitMs });
  try {
    database.exec('BEGIN EXCLUSIVE');
  } catch (cause) {
    database.close();
    if (!String((cause as { code?: unknown }).code).startsWith('SQLITE_BUSY')) throw cause;
    throw new AlreadyRunning(`another bot works in this data folder (${file} is locked)`, { cause });
  }
  held.add(database);
  return {
    async release() {
      held.delete(database);
      database.close();
    },
  };
}

const key = 0x71766c31; // "qvl1", a number of our own among advisory locks
const tryEveryMs = 500; // chosen: a bot that takes over waits hardly longer than it must

/**
 * Locks a PostgreSQL ledger by an advisory lock of a connection of its own. Waits up to `waitMs` for a bot that is ending. A connection
 * that breaks is made anew; when another bot has the lock by then, `onLost` is called. Throws AlreadyRunning.
 */
export async function lockDatabase(databaseUrl: string, waitMs: number, onLost: () => void): Promise<Lock> {
  const released = new AbortController();
  let client: pg.Client | null = null;

  async function take(): Promise<boolean> {
    // 5 s, chosen: a database that answers no sooner is away
    const fresh = new pg.Client({ connectionString: databaseUrl, connectionTimeoutMillis: 5000, keepAlive: true });
    fresh.on('error', () => {}); // 'end' follows
    await fresh.connect();
    const { rows } = await fresh.query<{ got: boolean }>('select pg_try_advisory_lock($1) as got', [key]);
    if (rows[0]?.got !== true || released.signal.aborted) {
      await fresh.end();
      return false;
    }
    client = fresh;
    fresh.once('end', () => {
      client = null;
      if (!released.signal.aborted) void keep();
    });
    return true;
  }
  async function keep(): Promise<void> {
    for (let refused = 0; !released.signal.aborted; ) {
      const got = await take().catch(() => null); // the database is away
      if (got === true) return;
      refused = got === false ? refused + 1 : 0;
      if (refused * tryEveryMs > waitMs) return onLost();
      await wait(tryEveryMs, undefined, { signal: released.signal }).catch(() => {});
    }
  }

  for (let leftMs = waitMs; !(await take()); leftMs -= tryEveryMs) {
    if (leftMs <= 0) throw new AlreadyRunning('another bot works on this database (its advisory lock is taken)');
    await wait(tryEveryMs);
  }
  return {
    async release() {
      released.abort();
      await client?.end().catch(() => {});
    },
  };
}

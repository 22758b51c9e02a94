import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { Kysely, Migrator, PostgresDialect, SqliteDialect } from 'kysely';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { migrationsFor } from '../../src/ledger/migrations/index.ts';
import { type LedgerPlace, openLedger } from '../../src/ledger/open.ts';
import { createScene, until } from '../bot/setup.ts';
import { startPostgres } from '../ledger/real-postgres.ts';
import { clipsByState, makeStored, readStored, type StoredLedger, sayAll, writeStored } from './stored-ledger.ts';

const own = ['kysely_migration', 'kysely_migration_lock']; // the migrator's own tables
const migrations = Object.keys(migrationsFor('sqlite'));
const latest = migrations.at(-1)!;
const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-migrations-'));
let postgres: Awaited<ReturnType<typeof startPostgres>>;
beforeAll(async () => {
  if (process.env.STORE_LEDGER === '1') writeStored(await makeStored(latest));
  postgres = await startPostgres();
});
afterAll(async () => {
  await postgres.stop();
  rmSync(folder, { recursive: true });
});

type Rows = StoredLedger['rows'];
interface Raw {
  place: LedgerPlace;
  read(table: string): Promise<Record<string, unknown>[]>;
  close(): Promise<void>;
}
let files = 0;

/** The stored ledger as a file of SQLite, made by the SQL that made it then. */
async function inSqlite({ schema, rows }: StoredLedger): Promise<Raw> {
  const file = join(folder, `${++files}.sqlite`);
  const database = new Database(file);
  for (const statement of schema) database.exec(statement);
  for (const [table, all] of Object.entries(rows)) {
    for (const row of all) {
      const columns = Object.keys(row);
      const places = columns.map(() => '?').join();
      database
        .prepare(`insert into "${table}" (${columns.map((c) => `"${c}"`).join()}) values (${places})`)
        .run(...Object.values(row));
    }
  }
  return {
    place: { file },
    read: async (table) => database.prepare(`select * from "${table}"`).all() as Record<string, unknown>[],
    close: async () => void database.close(),
  };
}

/** The same rows in PostgreSQL, in tables that the migrations up to then make. */
async function inPostgres({ migration, rows }: StoredLedger): Promise<Raw> {
  const databaseUrl = await postgres.url();
  const pool = new pg.Pool({ connectionString: databaseUrl });
  const upTo = Object.fromEntries(Object.entries(migrationsFor('postgres')).filter(([name]) => name <= migration));
  const db = new Kysely({ dialect: new PostgresDialect({ pool }) });
  const { error } = await new Migrator({ db, provider: { getMigrations: async () => upTo } }).migrateToLatest();
  if (error !== undefined) throw error;
  for (const [table, all] of Object.entries(rows).filter(([name]) => !own.includes(name))) {
    for (const row of all) {
      const columns = Object.keys(row);
      const places = columns.map((_, i) => `$${i + 1}`).join();
      await pool.query(`insert into "${table}" (${columns.map((c) => `"${c}"`).join()}) values (${places})`, Object.values(row));
    }
    if (all[0] !== undefined && 'seq' in all[0])
      await pool.query(`select setval(pg_get_serial_sequence('${table}', 'seq'), (select max(seq) from "${table}"))`);
  }
  return {
    place: { databaseUrl },
    read: async (table) => (await pool.query(`select * from "${table}"`)).rows,
    close: () => db.destroy(),
  };
}
const engines = { SQLite: inSqlite, PostgreSQL: inPostgres };

/** Rows with whole numbers as numbers (pg gives bigint as text), in one order. */
const settled = (rows: Record<string, unknown>[]) =>
  rows
    .map((row) =>
      Object.fromEntries(Object.entries(row).map(([k, v]) => [k, typeof v === 'string' && /^\d+$/.test(v) ? Number(v) : v])),
    )
    .map((row) => JSON.stringify(row, Object.keys(row).sort()))
    .sort();

const storedOnes = migrations.filter((name) => readStored(name) !== null);

it('has a stored ledger of each migration but the newest, with a row in each table', () => {
  const how = 'store the newest before you write another: STORE_LEDGER=1 npx vitest run tests/upkeep/migrations.test.ts';
  expect(storedOnes, how).toEqual(expect.arrayContaining(migrations.slice(0, -1)));
  for (const name of storedOnes) {
    const empty = Object.entries((readStored(name) as StoredLedger).rows).filter(([, rows]) => rows.length === 0);
    expect(
      empty.map(([table]) => table),
      name,
    ).toEqual([]);
  }
});

it('a released migration still makes the tables that it made', async () => {
  for (const name of storedOnes) {
    const database = new Database(':memory:');
    const stored = readStored(name) as StoredLedger;
    for (const statement of stored.schema) database.exec(statement);
    const made = new Database(join(folder, `made-${name}.sqlite`));
    const db = new Kysely({ dialect: new SqliteDialect({ database: made }) });
    const upTo = Object.fromEntries(Object.entries(migrationsFor('sqlite')).filter(([one]) => one <= name));
    await new Migrator({ db, provider: { getMigrations: async () => upTo } }).migrateToLatest();
    const sqlOf = (d: Database.Database) =>
      d.prepare("select sql from sqlite_master where sql is not null and name not like 'sqlite_%' order by sql").pluck().all();
    expect(sqlOf(made), name).toEqual(sqlOf(database));
    await db.destroy();
    database.close();
  }
});

describe.each(Object.keys(engines) as (keyof typeof engines)[])('on %s', (engine) => {
  describe.each(storedOnes)('a ledger of %s', (migration) => {
    it('goes to the latest with all that was in it', async () => {
      const stored = readStored(migration) as StoredLedger;
      const raw = await engines[engine](stored);
      await (await openLedger(raw.place)).close();
      for (const [table, before] of Object.entries(stored.rows).filter(([name]) => !own.includes(name))) {
        const after = await raw.read(table);
        const columns = Object.keys(before[0] ?? {});
        const kept = after.map((row) => Object.fromEntries(columns.map((column) => [column, row[column]])));
        expect(settled(kept), table).toEqual(settled(before));
      }
      const names = (await raw.read('kysely_migration')).map(({ name }) => name);
      expect(names).toEqual(migrations);
      await raw.close();
    });

    it('loses no clip that was in flight, and answers each once', async () => {
      const spool = mkdtempSync(join(folder, 'spool-'));
      const text = JSON.stringify(readStored(migration)).replaceAll('{spool}', spool);
      const stored = JSON.parse(text) as StoredLedger;
      mkdirSync(spool, { recursive: true });
      for (const [name, body] of Object.entries(stored.spool)) writeFileSync(join(spool, name), body, 'latin1');
      const raw = await engines[engine](stored);
      const scene = await createScene({}, { place: raw.place, spool });
      scene.clock.nowMs = stored.nowMs + 1000;
      const said = await sayAll(scene.world);
      await postedBefore(stored.rows, scene);
      const before = scene.world.posts.length;
      await scene.startBot();
      const states = Object.keys(clipsByState).length;
      await until(async () => {
        scene.measuring.release();
        return (await scene.ledger.inState(['answered', 'undeliverable'])).length === states;
      });
      const texts = Object.fromEntries(
        [...said].map(([state, message]) => [state, scene.world.replies(message.ref).map((post) => post.message.text)]),
      );
      expect(texts).toEqual({
        received: ['reply clean first'],
        spooled: ['reply fix first'],
        queued: ['reply clean first'],
        measuring: ['reply clean first'],
        judged: ['reply clean first trimmed'],
        failed: ['error clip-not-video'],
        'set-aside': ['error worker-died'],
        answering: ['reply fix first'],
        answered: ['reply clean first'],
        undeliverable: [],
      });
      expect(scene.world.posts.length).toBeGreaterThan(before);
      const cards = scene.world.inChannel('coaches').map((post) => post.message.text.replace(/ from.*/, ''));
      expect(cards.sort()).toEqual(
        ['answered', 'judged', 'measuring', 'queued', 'received'].map((state) => `card clean by-${state}`).sort(),
      );
      expect(scene.errors).toEqual([]);
      await scene.close();
      await raw.close();
    });
  });
});

/** What had reached the platform by then: acts that are done, and the reply whose end was not noted. */
async function postedBefore(rows: Rows, scene: Awaited<ReturnType<typeof createScene>>): Promise<void> {
  const adapter = scene.world.adapter();
  for (const { key, payload, state } of rows.acts ?? []) {
    const act = JSON.parse(String(payload));
    if (act.do === 'post' && (state === 'done' || state === 'doing'))
      await adapter.post(act.to, act.message, String(key), new AbortController().signal);
  }
}

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { Kysely, Migrator, PostgresDialect, SqliteDialect } from 'kysely';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { migrationsFor } from '../../src/ledger/migrations/index.ts';
import { openLedger } from '../../src/ledger/open.ts';
import { createScene } from '../bot/setup.ts';
import { startPostgres } from '../ledger/real-postgres.ts';
import { expectAnswers } from './answers.ts';
import { makeStored } from './make-stored.ts';
import { inSqlite, postedBefore, type RawLedger, readStored, type StoredLedger, sayAll, writeStored } from './stored-ledger.ts';

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

/** The same rows in PostgreSQL, in tables that the migrations up to then make. */
async function inPostgres({ migration, rows }: StoredLedger): Promise<RawLedger> {
  const databaseUrl = await postgres.url();
  const pool = new pg.Pool({ connectionString: databaseUrl });
  pool.on('error', () => {}); // its end is told before its connections closed, and the server may stop first
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
let files = 0;
const engines = {
  SQLite: (stored: StoredLedger) => inSqlite(stored, join(folder, `${++files}.sqlite`)),
  PostgreSQL: inPostgres,
};

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
      await postedBefore(stored, scene.world);
      const before = scene.world.posts.length;
      await scene.startBot();
      await expectAnswers(scene, said);
      expect(scene.world.posts.length).toBeGreaterThan(before);
      await scene.close();
      await raw.close();
    });
  });
});

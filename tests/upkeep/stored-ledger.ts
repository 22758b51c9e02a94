import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import Database from 'better-sqlite3';
import type { LedgerPlace } from '../../src/ledger/open.ts';
import type { SubmissionState } from '../../src/ledger/port.ts';
import type { createWorld } from '../bot/fake-platform.ts';

/** Rows by table, in the order of the tables' making. */
type Rows = Record<string, Record<string, string | number | null>[]>;

/** A ledger as the version of one migration left it, with a clip in each state. Where `{spool}` stands, the folder of clips was. */
export interface StoredLedger {
  migration: string;
  /** SQL of SQLite that makes tables and indexes. */
  schema: string[];
  rows: Rows;
  /** Clips in the folder, by name. */
  spool: Record<string, string>;
  nowMs: number;
}

/** The clip that stands in each state: the text that the stand-in for measuring reads. Messages are said in this order. */
export const clipsByState: Record<SubmissionState, string> = {
  received: 'clean',
  spooled: 'fix',
  queued: 'clean',
  measuring: 'wait',
  judged: 'trim',
  failed: 'bad',
  'set-aside': 'crash',
  answering: 'fix',
  answered: 'clean',
  undeliverable: 'fix',
};
/** All states, in that order. */
export const states = Object.keys(clipsByState) as SubmissionState[];

/** The server of a platform in memory. */
type World = ReturnType<typeof createWorld>;

/** The members' messages, one for each state, on the server of a fresh world; always the same. */
export async function sayAll(world: World) {
  const said = new Map<SubmissionState, Awaited<ReturnType<typeof world.say>>>();
  for (const state of states)
    said.set(state, await world.say([clipsByState[state]], { told: false, text: `squat 100 kg, ${state}`, by: `by-${state}` }));
  return said;
}

/** The file of a stored ledger. */
const storedPath = (migration: string) => new URL(`fixtures/${migration}.json`, import.meta.url);

/** Reads a stored ledger, null when there is none. */
export function readStored(migration: string): StoredLedger | null {
  const path = storedPath(migration);
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as StoredLedger) : null;
}

/** A stored ledger in a database, opened beside the ledger. */
export interface RawLedger {
  place: LedgerPlace;
  read(table: string): Promise<Record<string, unknown>[]>;
  close(): Promise<void>;
}
/** The stored ledger as a new `file` of SQLite, made by the SQL that made it then. */
export async function inSqlite({ schema, rows }: StoredLedger, file: string): Promise<RawLedger> {
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

/** What had reached the platform by then: acts that are done, and the reply whose end was not noted. */
export async function postedBefore({ rows }: StoredLedger, world: World): Promise<void> {
  const adapter = world.adapter();
  for (const { key, payload, state } of rows.acts ?? []) {
    const act = JSON.parse(String(payload));
    if (act.do === 'post' && (state === 'done' || state === 'doing'))
      await adapter.post(act.to, act.message, String(key), new AbortController().signal);
  }
}

/** Keeps it for later versions. */
export function writeStored(stored: StoredLedger): void {
  writeFileSync(storedPath(stored.migration), `${JSON.stringify(stored, null, 1)}\n`);
}

import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { submissionIdOf } from '../../src/bot/ids.ts';
import type { Ledger, SubmissionState } from '../../src/ledger/port.ts';
import { type Platform, PlatformError } from '../../src/platforms/port.ts';
import { createScene, until } from '../bot/setup.ts';

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
const states = Object.keys(clipsByState) as SubmissionState[];

/** The members' messages, one for each state, on the server of a fresh world; always the same. */
export async function sayAll(world: Awaited<ReturnType<typeof createScene>>['world']) {
  const said = new Map<SubmissionState, Awaited<ReturnType<typeof world.say>>>();
  for (const state of states)
    said.set(state, await world.say([clipsByState[state]], { told: false, text: `squat 100 kg, ${state}`, by: `by-${state}` }));
  return said;
}

/** The file of a stored ledger. */
export const storedPath = (migration: string) => new URL(`fixtures/${migration}.json`, import.meta.url);

/** Reads a stored ledger, null when there is none. */
export function readStored(migration: string): StoredLedger | null {
  const path = storedPath(migration);
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as StoredLedger) : null;
}

const mayNotReach: Partial<Record<SubmissionState, SubmissionState[]>> = {
  received: ['spooled', 'failed'],
  spooled: ['queued', 'measuring', 'judged'],
  queued: ['measuring', 'judged'],
  judged: ['answering'],
  failed: ['answering'],
  'set-aside': ['answering'],
};
const never = () => new Promise<never>(() => {});

/** Runs the present bot until a clip stands in each state, and gives what it leaves behind when it is killed there. */
export async function makeStored(migration: string): Promise<StoredLedger> {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-stored-'));
  const [file, spool] = [join(folder, 'ledger.sqlite'), join(folder, 'spool')];
  mkdirSync(spool);
  const scene = await createScene({}, { place: { file }, spool });
  Object.assign(scene.measuring.pool, { size: states.length }); // clips that are held hold a place each
  const said = await sayAll(scene.world);
  const stateOf = new Map([...said].map(([state, message]) => [submissionIdOf(message.ref, message.files[0]!), state]));
  const refusedRef = said.get('undeliverable')!.ref.message;
  const hangingRef = said.get('answering')!.ref.message;
  const holding = (ledger: Ledger): Ledger => ({
    ...ledger,
    move: (id, from, to, ...rest) => (mayNotReach[stateOf.get(id)!]?.includes(to) ? never() : ledger.move(id, from, to, ...rest)),
  });
  const refusing = (platform: Platform): Platform => ({
    ...platform,
    async post(to, message, key, signal) {
      if (to.message?.message === hangingRef) return never();
      if (to.message?.message === refusedRef) throw new PlatformError('gone', 'gone', { final: true, retryAfterMs: null });
      return platform.post(to, message, key, signal);
    },
  });
  await scene.ledger.rulesVersion('view: { severity: advise }', 'Ilse', 'too strict', scene.clock.nowMs);
  await scene.startBot({ ledger: holding, platform: refusing });
  await until(async () => {
    const now = await Promise.all([...stateOf.keys()].map((id) => scene.ledger.submission(id)));
    return now.every((s) => s !== null && s.state === stateOf.get(s.id));
  });
  await fillDesks(scene.ledger, [...stateOf.keys()].at(-1)!, scene.clock.nowMs);
  const other = new Database(file);
  const schema = other.prepare("select sql from sqlite_master where sql is not null and name not like 'sqlite_%' order by rowid");
  const tables = other.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' order by rowid");
  const rows = Object.fromEntries(
    tables
      .pluck()
      .all()
      .map((name) => [name, other.prepare(`select * from "${name}"`).all()]),
  );
  const stored = {
    migration,
    schema: schema.pluck().all(),
    rows,
    spool: Object.fromEntries(readdirSync(spool).map((name) => [name, readFileSync(join(spool, name), 'latin1')])),
    nowMs: scene.clock.nowMs,
  };
  other.close();
  await scene.close();
  return JSON.parse(JSON.stringify(stored).replaceAll(spool, '{spool}')) as StoredLedger;
}

/** What coaches, members and moderators leave behind. */
async function fillDesks(ledger: Ledger, submission: string, nowMs: number): Promise<void> {
  const [platform, coach] = ['room', { byId: 'ilse', byName: 'Ilse' }];
  await ledger.desk.put(submission, platform, nowMs);
  const wish = { memberId: 'by-answered', lift: 'squat', view: 'front', note: 'for the knees', clipsLeft: 2, untilMs: null };
  await ledger.requests.add({ id: 'wish-1', platform, ...wish, ...coach }, nowMs);
  const found = { kind: 'accepted', rule: 'view', reason: 'good enough for me' } as const;
  await ledger.evidence.add({ id: 'said-1', submission, ...found, ...coach }, nowMs);
  await ledger.members.set(platform, 'by-answered', { statureCm: 171, cautionedMs: nowMs });
  const who = { platform, personId: 'ilse', personName: 'Ilse' };
  await ledger.audit.note({ ...who, atMs: nowMs, act: 'request-view', subject: 'wish-1', allowed: true });
}

/** Keeps it for later versions. */
export function writeStored(stored: StoredLedger): void {
  writeFileSync(storedPath(stored.migration), `${JSON.stringify(stored, null, 1)}\n`);
}

import { chmodSync, copyFileSync, existsSync, renameSync, rmSync, statSync } from 'node:fs';
import Database from 'better-sqlite3';
import { migrationsFor } from './migrations/index.ts';

const busyMs = 5000; // as in open.ts
const allPages = 0x7fffffff; // largest 32-bit number: all in one step

/** A backup cannot be made or used. Trying again without changing anything does not help. */
export class BackupError extends Error {
  readonly retry = false;
  constructor(
    readonly code: 'no-ledger' | 'file-exists' | 'not-a-backup' | 'newer-backup',
    message: string,
    options?: ErrorOptions,
  ) {
    super(message, options);
    this.name = 'BackupError';
  }
}

/**
 * Copies the ledger `file` into a new file `to`, as it stands at one moment; the bot may write meanwhile. The copy is one file that only
 * this user can read. Throws BackupError `no-ledger` or `file-exists`.
 */
export async function backUpLedger(file: string, to: string): Promise<{ bytes: number; submissions: number }> {
  if (!existsSync(file)) throw new BackupError('no-ledger', `there is no ledger at ${file} (DATA_FOLDER names its folder)`);
  if (existsSync(to)) throw new BackupError('file-exists', `${to} is there already: name a new file`);
  const part = `${to}.part`;
  removeDatabase(part);
  const source = new Database(file, { readonly: true, timeout: busyMs });
  try {
    // After the first pages all others at once: were they copied bit by bit, each change of the bot would begin the copy anew.
    await source.backup(part, { progress: () => allPages });
  } finally {
    source.close();
  }
  chmodSync(part, 0o600);
  const { submissions } = examine(part);
  renameSync(part, to);
  return { bytes: statSync(to).size, submissions };
}

/**
 * Puts a backup in the place of the ledger `file`; the caller holds the lock, so no bot works on it. What was there is kept at `aside`.
 * Clips without an answer whose file is no longer on the disk are fetched from their platform again. Throws BackupError.
 */
export function restoreLedger(from: string, file: string, aside: string): { submissions: number; fetchedAgain: number } {
  if (!existsSync(from)) throw new BackupError('not-a-backup', `there is no file ${from}`);
  if (existsSync(aside)) throw new BackupError('file-exists', `${aside} is there already: move it away`);
  const part = `${file}.restoring`;
  removeDatabase(part);
  copyFileSync(from, part);
  chmodSync(part, 0o600);
  try {
    const found = examine(part);
    const fetchedAgain = askForClipsAgain(part);
    if (existsSync(file)) {
      settle(file);
      for (const ending of ['', '-wal', '-shm']) if (existsSync(file + ending)) renameSync(file + ending, aside + ending);
    }
    renameSync(part, file);
    return { submissions: found.submissions, fetchedAgain };
  } finally {
    removeDatabase(part);
  }
}

function removeDatabase(file: string): void {
  for (const ending of ['', '-wal', '-shm', '-journal']) rmSync(file + ending, { force: true });
}

/** Writes what is still in the log into the file itself. One that is beyond that is left as it is. */
function settle(file: string): void {
  try {
    const database = new Database(file, { timeout: busyMs });
    database.pragma('journal_mode = DELETE');
    database.close();
  } catch {}
}

/** Makes a copy one whole file and looks whether it is a ledger that this version can read. */
function examine(copy: string): { submissions: number } {
  const refuse = (cause?: unknown) =>
    new BackupError('not-a-backup', 'the file is not a whole ledger of quarterview', cause === undefined ? {} : { cause });
  let names: string[];
  let submissions: number;
  try {
    const database = new Database(copy);
    try {
      database.pragma('journal_mode = DELETE');
      if (database.pragma('integrity_check(1)', { simple: true }) !== 'ok') throw refuse();
      names = database.prepare<[], string>('select name from kysely_migration').pluck().all();
      submissions = database.prepare<[], number>('select count(*) from submissions').pluck().get() ?? 0;
    } finally {
      database.close();
    }
  } catch (error) {
    throw error instanceof BackupError ? error : refuse(error);
  }
  const unknown = names.filter((name) => !(name in migrationsFor('sqlite')));
  if (unknown.length > 0)
    throw new BackupError('newer-backup', `the file is of a newer quarterview (${unknown.join(', ')}): update this one first`);
  return { submissions };
}

/** Sends clips that are not answered and not on the disk back to the start; how many. */
function askForClipsAgain(copy: string): number {
  const database = new Database(copy);
  const open = database.prepare<[], { id: string; clip_path: string }>(
    `select id, clip_path from submissions where clip_path is not null
     and state in ('spooled', 'queued', 'measuring', 'judged', 'answering')`,
  );
  const gone = open.all().filter(({ clip_path }) => !existsSync(clip_path));
  // What was planned but not done is planned again by the new answer; the platform finds what it has already.
  const acts = database.prepare("delete from acts where submission = ? and state in ('planned', 'doing')");
  const jobs = database.prepare('delete from jobs where id = ?');
  const back = database.prepare(
    `update submissions set state = 'received', clip_path = null, trimmed_path = null, attempts = 0, not_before_ms = 0 where id = ?`,
  );
  database.transaction(() => {
    for (const { id } of gone) for (const statement of [acts, jobs, back]) statement.run(id);
  })();
  database.close();
  return gone.length;
}

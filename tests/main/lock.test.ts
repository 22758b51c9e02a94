import { fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import pg from 'pg';
import { expect, it } from 'vitest';
import { AlreadyRunning, lockDatabase, lockFolder } from '../../src/ledger/lock.ts';
import { startPostgres } from '../ledger/real-postgres.ts';
import { until } from './processes.ts';

it('locks a folder for one process, and lets go whatever ends it', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-lock-'));
  const file = join(folder, 'lock');
  const other = fork(fileURLToPath(new URL('./fixtures/hold-lock.ts', import.meta.url)), [file], {
    execArgv: ['--expose-gc', '--import', 'tsx'],
  });
  try {
    await once(other, 'message');
    expect(() => lockFolder(file, 0)).toThrow(AlreadyRunning);
  } finally {
    other.kill('SIGKILL');
    await once(other, 'exit');
  }
  const lock = lockFolder(file, 0);
  expect(() => lockFolder(file, 0)).toThrow(AlreadyRunning);
  await lock.release();
  await lockFolder(file, 0).release();
  rmSync(folder, { recursive: true });
});

it('locks a database for one bot, takes the lock again after a break, and tells when another has it', async () => {
  const postgres = await startPostgres();
  const url = await postgres.url();
  let lost = 0;
  const lock = await lockDatabase(url, 0, () => {
    lost += 1;
  });
  await expect(lockDatabase(url, 0, () => {})).rejects.toThrow(AlreadyRunning);

  const client = new pg.Client({ connectionString: url });
  await client.connect();
  const holder = async () => {
    const { rows } = await client.query<{ pid: number }>("select pid from pg_locks where locktype = 'advisory'");
    return rows[0]?.pid;
  };
  const before = await holder();
  await client.query('select pg_terminate_backend($1)', [before]);
  await until('the lock taken again', async () => {
    const pid = await holder();
    return pid !== undefined && pid !== before ? true : undefined;
  });
  expect(lost).toBe(0);

  // Another bot waits on the lock, so it has it at once when the holder's connection breaks.
  const waiting = new pg.Client({ connectionString: url });
  await waiting.connect();
  const got = waiting.query('select pg_advisory_lock($1)', [0x71766c31]);
  await until('it waits', async () => {
    const { rowCount } = await client.query("select 1 from pg_locks where locktype = 'advisory' and not granted");
    return rowCount === 1 ? true : undefined;
  });
  const { rows } = await client.query<{ pid: number }>("select pid from pg_locks where locktype = 'advisory' and granted");
  await client.query('select pg_terminate_backend($1)', [rows[0]?.pid]);
  await got;
  await until('the loss', async () => (lost === 1 ? true : undefined));
  await lock.release();
  await client.end();
  await waiting.end();
  await postgres.stop();
});

import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import pg from 'pg';
import { freePort } from '../free-port.ts';

/** Folder of the newest PostgreSQL's programs, empty when there is none. */
export function postgresPrograms(): string {
  const root = '/usr/lib/postgresql'; // where Debian's packages put them
  const versions = existsSync(root) ? readdirSync(root).filter((v) => existsSync(join(root, v, 'bin/initdb'))) : [];
  const newest = versions.sort((a, b) => Number(b) - Number(a))[0];
  return newest === undefined ? '' : join(root, newest, 'bin');
}

/** Starts a PostgreSQL of its own; `url` makes a fresh database each time, `cut` breaks all connections. initdb refuses root, so root starts it as user `postgres`. */
export async function startPostgres(): Promise<{ url(): Promise<string>; cut(): Promise<void>; stop(): Promise<void> }> {
  const bin = postgresPrograms();
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-postgres-'));
  let as: { uid?: number; gid?: number } = {};
  if (process.getuid?.() === 0) {
    const idOf = (flag: string) => Number(execFileSync('id', [flag, 'postgres'], { encoding: 'utf8' }));
    as = { uid: idOf('-u'), gid: idOf('-g') };
    chownSync(folder, as.uid!, as.gid!);
  }
  const data = join(folder, 'data');
  const env = { PATH: process.env.PATH, LC_ALL: 'C.UTF-8' };
  execFileSync(join(bin, 'initdb'), ['-D', data, '-U', 'quarterview', '-A', 'trust', '-N'], {
    ...as,
    env,
    cwd: folder,
    stdio: 'ignore',
  });
  const port = await freePort();
  const settings = [
    `port=${port}`,
    'listen_addresses=127.0.0.1',
    `unix_socket_directories=${folder}`,
    'fsync=off',
    'shared_buffers=16MB',
  ];
  const server = spawn(join(bin, 'postgres'), ['-D', data, ...settings.flatMap((s) => ['-c', s])], {
    ...as,
    env,
    cwd: folder,
    stdio: 'ignore',
  });
  const address = (name: string) => `postgres://quarterview@127.0.0.1:${port}/${name}`;
  const ask = async (text: string) => {
    const client = new pg.Client({ connectionString: address('postgres') });
    await client.connect();
    await client.query(text);
    await client.end();
  };
  for (let left = 100; ; left -= 1) {
    try {
      await ask('select 1');
      break;
    } catch (error) {
      if (left === 0 || server.exitCode !== null) throw error;
      await wait(100);
    }
  }
  let made = 0;
  return {
    async url() {
      made += 1;
      const name = `test${made}`;
      await ask(`create database ${name}`);
      return address(name);
    },
    cut: () =>
      ask('select pg_terminate_backend(pid) from pg_stat_activity where pid <> pg_backend_pid() and datname is not null'),
    async stop() {
      if (server.exitCode === null) {
        server.kill('SIGINT');
        await once(server, 'exit');
      }
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

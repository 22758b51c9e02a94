import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { folderRows, measuringRows, nodeRow } from '../../src/preflight/host.ts';
import { row } from '../../src/preflight/row.ts';
import { databaseRow, redisRow } from '../../src/preflight/services.ts';
import { preflightTable } from '../../src/preflight/table.ts';
import { freePort } from '../free-port.ts';
import { startRedis } from '../queue/real-redis.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'quarterview-test-preflight-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('preflight', () => {
  it.each([
    ['20.19.9', false],
    ['20.20.0', true],
    ['18.99.0', false],
    ['24.0.0', true],
  ])('Node %s: %s', (version, ok) => expect(nodeRow(version).ok).toBe(ok));

  it('finds a folder that cannot be made', () => {
    const file = join(folder, 'file');
    writeFileSync(file, '');
    expect(folderRows('data folder', join(file, 'data'))).toMatchObject([{ ok: false, must: true }]);
    expect(folderRows('data folder', join(folder, 'data'))[0]?.found).toMatch(/ GB free$/);
  });

  it('finds a file that is no database', async () => {
    const file = join(folder, 'ledger.sqlite');
    expect(await databaseRow({ file })).toMatchObject({ ok: true, found: 'SQLite, a new file' });
    writeFileSync(file, 'not a database, but long enough to be looked at '.repeat(40));
    const found = await databaseRow({ file });
    expect(found.ok).toBe(false);
    expect(found.fix).toContain(file);
  });

  it('asks Redis, and finds that it may drop clips', async () => {
    const redis = await startRedis();
    try {
      expect(await redisRow(redis.url)).toMatchObject({
        ok: true,
        found: expect.stringMatching(/^\d+\.\d+.*, eviction noeviction$/),
      });
    } finally {
      await redis.stop();
    }
    const nobody = await redisRow(`redis://127.0.0.1:${await freePort()}`);
    expect(nobody.ok).toBe(false);
    expect(nobody.found).toContain('ECONNREFUSED');
    expect(nobody.fix).toContain('REDIS_URL');
  });

  it('passes on why a worker cannot be asked', async () => {
    const rows = await measuringRows(fileURLToPath(new URL('./no-such-file.ts', import.meta.url)), {
      PATH: process.env.PATH ?? '',
    });
    expect(rows).toMatchObject([{ what: 'measuring', ok: false, must: true }]);
  });

  it('asks a measuring process what it is kept from', async () => {
    const entry = fileURLToPath(new URL('../../workers/self-check.ts', import.meta.url));
    const rows = await measuringRows(entry, { PATH: process.env.PATH ?? '' });
    expect(rows.map(({ what, must }) => [what, must])).toEqual([
      ['ffmpeg', true],
      ['models', true],
      ['measuring: limits', false],
      ['measuring: network', false],
    ]);
    const network = rows.at(-1)!;
    const isAway = spawnSync('unshare', ['--user', '--net', '--', 'true']).status === 0;
    if (isAway) expect(network).toMatchObject({ ok: true, found: 'taken away' });
    else expect(network.ok || network.fix.includes('unshare')).toBe(true);
  });

  it('is a table with the fix below what is wrong', () => {
    const rows = [
      row('Node', true, '20.20.2', 'x'),
      row('Redis', false, 'connect\nECONNREFUSED', 'Start Redis.'),
      row('disk', false, '1.0 GB free', 'Make room.', false),
    ];
    expect(preflightTable(rows).split('\n')).toEqual([
      'ok      Node   20.20.2',
      'NOT OK  Redis  connect ECONNREFUSED',
      '        -> Start Redis.',
      'look    disk   1.0 GB free',
      '        -> Make room.',
    ]);
  });
});

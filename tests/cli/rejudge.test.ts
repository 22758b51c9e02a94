import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { rejudgeArguments, rejudgeLedger } from '../../src/cli/rejudge-ledger.ts';
import { judge } from '../../src/judge/judge.ts';
import { openLedger, readLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';
import type { Configuration } from '../../src/main/project.ts';
import { readEnvironment } from '../../src/settings/environment.ts';
import { parseRules, parseSettings } from '../../src/settings/load.ts';
import { exampleFacts, viewAt } from '../facts-example.ts';

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-rejudge-'));
const file = join(folder, 'ledger.sqlite');
const rules = (text: string) => {
  const path = join(folder, 'proposed.yaml');
  writeFileSync(path, text);
  return path;
};
let ledger: Ledger; // stays open, as under a bot that runs

function runAlone(...words: string[]): Promise<{ code: number; out: string; err: string }> {
  const command = fileURLToPath(new URL('../../src/cli/rejudge.ts', import.meta.url));
  const env = { PATH: process.env.PATH, DATA_FOLDER: folder, CONFIG_FOLDER: folder };
  return new Promise((resolve) =>
    execFile(process.execPath, ['--import', 'tsx', command, ...words], { env }, (error, out, err) =>
      resolve({ code: typeof error?.code === 'number' ? error.code : 0, out, err }),
    ),
  );
}

const run = (...words: string[]) => {
  const configuration: Configuration = {
    environment: readEnvironment({}),
    settings: parseSettings('', 'settings'),
    rules: {},
    rulesText: '',
    dataFolder: folder,
  };
  return rejudgeLedger(rejudgeArguments(words), configuration);
};

beforeAll(async () => {
  ledger = await openLedger({ file });
  for (const [i, deg] of [135, 170, 180, 0].entries()) {
    const id = `clip-${i}`;
    const ref = { platform: 'room', channel: 'clips', message: id, thread: null } as const;
    const clip = { name: 'squat.mp4', id: 'f', contentType: null, bytes: null };
    const by = { authorId: 'juno', authorName: 'Juno', caption: '', sentMs: 1 };
    await ledger.receive({ id, ref, lane: id, file: clip, takeOf: null, root: id, ...by }, [], 1_700_000_000_000 + i);
    const facts = exampleFacts('squat', { view: viewAt(deg) });
    const judgement = judge(facts, { settings: parseRules('', '') });
    await ledger.move(id, ['received'], 'judged', 2, { facts, judgement, verdict: judgement.verdict, rulesVersion: 1 });
  }
  await ledger.evidence.add(
    { id: 'e', submission: 'clip-2', kind: 'accepted', rule: 'view', reason: '', byId: 'ilse', byName: 'Ilse' },
    3,
  );
});
afterAll(async () => {
  await ledger.close();
  rmSync(folder, { recursive: true });
});

const behind = 'view: { lifts: { squat: { options: { zones: [{ fromDeg: 112.5, toDeg: 180, aimDeg: 135 }] } } } }';

describe('rejudge', () => {
  it('tells which stored clips would flip, beside a bot that has the ledger open', async () => {
    const { code, out, err } = await runAlone('--rules', rules(behind));
    expect({ code, err }).toEqual({ code: 0, err: '' });
    expect(out).toContain(
      'squat: zones [{ fromDeg: 112.5, toDeg: 157.5, aimDeg: 135 }] → [{ fromDeg: 112.5, toDeg: 180, aimDeg: 135 }]',
    );
    expect(out).toContain('I judged the last 4 clips again, by the rules as they are and as they would be.');
    expect(out).toContain('2 clips: sent back → clean');
    expect(out).toContain('· Juno, squat, 14 Nov');
    expect(out).toContain('right about 0 of these now, and would be about 1: 1 put right, 0 made wrong.');
  });

  it('gives the same as JSON, beside the rules in force, over as many clips as asked, and writes nothing', async () => {
    const added = await ledger.rules.add(behind, null, { name: 'Wren', id: 'room/wren', reason: 'why' }, 4);
    const before = statSync(file).mtimeMs;
    const out = await run('--rules', rules('# as it comes'), '--json', '--last', '2');
    expect(JSON.parse(out)).toMatchObject({
      version: added,
      differences: [{ rule: 'view', lifts: ['squat'], setting: 'zones' }],
      clips: 2,
      flips: [{ from: 'clean', to: 'fix', ids: ['clip-2'] }],
      known: { clips: 1, spoilt: ['clip-2'] },
    });
    expect(statSync(file).mtimeMs).toBe(before);
    expect(await ledger.rules.history(9)).toHaveLength(1);
  });

  it('says what is wrong with the rules and with its own words', async () => {
    await expect(run('--rules', rules('viw: { severity: off }'))).rejects.toThrow('Did you mean "view"?');
    expect(() => rejudgeArguments([])).toThrow('--rules FILE');
    expect(() => rejudgeArguments(['--rules', 'x', '--last', '0'])).toThrow('whole number');
    expect(() => rejudgeArguments(['--rule', 'x'])).toThrow('--rule');
  });

  it('does not touch a ledger of another version', async () => {
    const older = mkdtempSync(join(folder, 'older-'));
    const database = new Database(join(older, 'ledger.sqlite'));
    database.exec("create table kysely_migration (name text); insert into kysely_migration values ('0001-first')");
    database.close();
    await expect(readLedger({ file: join(older, 'ledger.sqlite') })).rejects.toMatchObject({ code: 'ledger-behind' });
    await expect(readLedger({ file: join(older, 'none.sqlite') })).rejects.toMatchObject({ code: 'ledger-unreachable' });
  });
});

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/open.ts';
import type { Ledger, NewAct, NewSubmission } from '../../src/ledger/port.ts';
import { exampleFacts } from '../queue/fixtures/facts.ts';
import { startPostgres } from './real-postgres.ts';

function clip(id: string, change: Partial<NewSubmission> = {}): NewSubmission {
  return {
    id,
    ref: { platform: 'room', channel: 'form-check', message: id, thread: null },
    lane: `room/form-check/${id}`,
    file: { id: `file-${id}`, name: 'squat.mp4', contentType: 'video/mp4', bytes: 1000 },
    takeOf: null,
    root: id,
    authorId: 'juno',
    authorName: 'Juno',
    caption: 'Squat 100 kg x5',
    sentMs: 900,
    ...change,
  };
}
const act = (key: string, lane: string, change: Partial<NewAct> = {}): NewAct => ({
  key,
  lane,
  submission: null,
  payload: { say: key },
  essential: false,
  ...change,
});

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-ledger-'));
let postgres: Awaited<ReturnType<typeof startPostgres>>;
beforeAll(async () => {
  postgres = await startPostgres();
});
afterAll(async () => {
  await postgres.stop();
  rmSync(folder, { recursive: true });
});

let files = 0;
const engines = {
  SQLite: async () => ({ file: join(folder, `${++files}.sqlite`) }),
  PostgreSQL: async () => ({ databaseUrl: await postgres.url() }),
};

describe.each(['SQLite', 'PostgreSQL'] as const)('ledger on %s', (engine) => {
  let place: Awaited<ReturnType<(typeof engines)[typeof engine]>>;
  let ledger: Ledger;
  beforeEach(async () => {
    place = await engines[engine]();
    ledger = await openLedger(place);
  });
  afterEach(() => ledger.close());
  const keysDue = async (nowMs: number) => (await ledger.dueActs(nowMs, 100)).map((a) => a.key);

  it('keeps a submission once, with its acts, and finds it again after a restart', async () => {
    expect(await ledger.receive(clip('a'), [act('seen/a', 'l')], 1000)).toBe(true);
    expect(await ledger.receive(clip('a', { caption: 'other' }), [act('twice/a', 'l')], 2000)).toBe(false);
    await ledger.close();
    ledger = await openLedger(place);
    expect(await ledger.submission('a')).toMatchObject({
      ...clip('a'),
      state: 'received',
      createdMs: 1000,
      facts: null,
      attempts: 0,
    });
    expect(await keysDue(1000)).toEqual(['seen/a']);
    expect(await ledger.submission('b')).toBe(null);
  });

  it('receives the same clip once when told twice at the same time', async () => {
    const told = await Promise.all([1, 2, 3, 4].map(() => ledger.receive(clip('a'), [], 1)));
    expect(told.filter(Boolean)).toHaveLength(1);
  });

  it('moves only from the states named, writes facts and acts with the move, or nothing', async () => {
    await ledger.receive(clip('a'), [], 1);
    const facts = exampleFacts(12);
    expect(await ledger.move('a', ['queued'], 'judged', 2, { facts }, [act('x', 'l')])).toBe(false);
    expect(await ledger.submission('a')).toMatchObject({ state: 'received', facts: null, updatedMs: 1 });
    expect(await keysDue(9)).toEqual([]);
    const change = {
      facts,
      judgement: { verdict: 'clean' },
      verdict: 'clean',
      rulesVersion: 3,
      timings: { pose: 1.5 },
      clipPath: 'a.mp4',
    } as const;
    expect(await ledger.move('a', ['received', 'queued'], 'judged', 2, change, [act('x', 'l')])).toBe(true);
    expect(await ledger.submission('a')).toMatchObject({ state: 'judged', ...change, updatedMs: 2 });
    expect(await keysDue(9)).toEqual(['x']);
  });

  it('moves once when two try at the same time', async () => {
    await ledger.receive(clip('a'), [], 1);
    const moved = await Promise.all(
      [1, 2, 3].map((n) => ledger.move('a', ['received'], 'spooled', n, {}, [act(`by-${n}`, `l${n}`)])),
    );
    expect(moved.filter(Boolean)).toHaveLength(1);
    expect(await keysDue(9)).toHaveLength(1);
  });

  it('rolls a move back whole when an act cannot be kept', async () => {
    await ledger.receive(clip('a'), [], 1);
    const bad = act('x', 'l', { submission: 'nobody' });
    await expect(ledger.move('a', ['received'], 'spooled', 2, {}, [act('fine', 'l'), bad])).rejects.toThrow();
    expect((await ledger.submission('a'))?.state).toBe('received');
    expect(await ledger.act('fine')).toBe(null);
  });

  it('says what is due, and when the next is', async () => {
    expect(await ledger.nextDueMs(0)).toBe(null);
    for (const id of ['a', 'b', 'c']) await ledger.receive(clip(id), [], 1);
    await ledger.move('a', ['received'], 'received', 2, { attempts: 1, notBeforeMs: 500 });
    await ledger.move('b', ['received'], 'measuring', 2);
    expect(await ledger.due(499, 10)).toEqual(['c']);
    expect(await ledger.due(500, 10)).toEqual(['a', 'c']);
    expect(await ledger.due(500, 1)).toEqual(['a']);
    await ledger.move('c', ['received'], 'queued', 2);
    expect(await ledger.nextDueMs(499)).toBe(500);
    expect(await ledger.nextDueMs(500)).toBe(null);
    expect((await ledger.submission('a'))?.attempts).toBe(1);
    await ledger.move('a', ['received'], 'spooled', 3);
    expect(await ledger.submission('a')).toMatchObject({ attempts: 0, notBeforeMs: 0 });
    expect((await ledger.waiting(1)).map((s) => s.id)).toEqual(['a', 'b', 'c']);
    expect(await ledger.waiting(0)).toEqual([]);
    expect(await ledger.inState(['queued', 'measuring'])).toEqual(['b', 'c']);
  });

  it('knows who was answered before', async () => {
    await ledger.receive(clip('a'), [], 1);
    expect(await ledger.hasAnswers('room', 'juno')).toBe(false);
    await ledger.move('a', ['received'], 'answering', 2);
    expect(await ledger.hasAnswers('room', 'juno')).toBe(true);
    expect(await ledger.hasAnswers('room', 'tamsin')).toBe(false);
    expect(await ledger.hasAnswers('slack', 'juno')).toBe(false);
  });

  it('lists the takes of a thread in order', async () => {
    await ledger.receive(clip('a', { lane: 'l' }), [], 1);
    await ledger.receive(clip('b', { lane: 'other' }), [], 1);
    await ledger.receive(clip('c', { lane: 'l', takeOf: 'a', root: 'a' }), [], 1);
    expect((await ledger.inLane('l')).map((s) => [s.id, s.takeOf, s.root])).toEqual([
      ['a', null, 'a'],
      ['c', 'a', 'a'],
    ]);
  });

  it('does the acts of a lane in order, lanes beside each other', async () => {
    await ledger.plan([act('a1', 'a'), act('b1', 'b'), act('a2', 'a'), act('b1', 'b', { payload: 'ignored' })], 1);
    expect(await keysDue(1)).toEqual(['a1', 'b1']);
    await ledger.beginAct('a1', 2);
    expect(await ledger.act('a1')).toMatchObject({ state: 'doing', attempts: 1, payload: { say: 'a1' } });
    expect(await keysDue(2)).toEqual(['a1', 'b1']);
    await ledger.postponeAct('a1', 50, 'rate-limited', 2);
    expect(await keysDue(49)).toEqual(['b1']);
    expect(await keysDue(50)).toEqual(['a1', 'b1']);
    const ref = { platform: 'room', channel: 'c', message: 'm', thread: 't' } as const;
    await ledger.endAct('a1', { ref }, 51);
    expect(await ledger.act('a1')).toMatchObject({ state: 'done', ref });
    expect(await keysDue(51)).toEqual(['b1', 'a2']);
    await ledger.endAct('b1', { error: 'gone' }, 51);
    expect(await ledger.act('b1')).toMatchObject({ state: 'failed', ref: null });
    expect(await keysDue(51)).toEqual(['a2']);
  });

  it.each([
    ['answered', { ref: null }],
    ['undeliverable', { error: 'gone' }],
  ] as const)('a submission is %s when its last act ends', async (state, end) => {
    await ledger.receive(clip('a'), [act('seen', 'l', { submission: 'a' })], 1);
    await ledger.endAct('seen', { ref: null }, 2);
    expect((await ledger.submission('a'))?.state).toBe('received');
    await ledger.move('a', ['received'], 'answering', 3, {}, [
      act('reply', 'l', { submission: 'a', essential: true }),
      act('marks', 'l', { submission: 'a' }),
    ]);
    await ledger.endAct('reply', end, 4);
    expect((await ledger.submission('a'))?.state).toBe('answering');
    await ledger.endAct('marks', { error: 'forbidden' }, 5);
    expect(await ledger.submission('a')).toMatchObject({ state, answeredMs: 5 });
  });

  it('keeps cursors, and counts time between mentions', async () => {
    expect(await ledger.cursor('room/a')).toBe(null);
    await ledger.setCursor('room/a', '1');
    await ledger.setCursor('room/a', '2');
    expect(await ledger.cursor('room/a')).toBe('2');
    expect(await ledger.atMostEvery('mention', 100, 1000)).toBe(true);
    expect(await ledger.atMostEvery('mention', 100, 1099)).toBe(false);
    expect(await ledger.atMostEvery('mention', 100, 1100)).toBe(true);
  });

  it('numbers rule settings, the same text once', async () => {
    const first = await ledger.rulesVersion('a: 1', 'file', 'start', 1);
    expect(await ledger.rulesVersion('a: 1', 'file', 'start', 2)).toBe(first);
    expect(await ledger.rulesVersion('a: 2', 'Ilse', 'too strict', 3)).toBe(first + 1);
    expect(await ledger.rulesVersion('a: 1', 'Ilse', 'back', 4)).toBe(first + 2);
  });

  it('lists answered clips that lie on the disk, and forgets their files', async () => {
    for (const [id, atMs] of [
      ['a', 10],
      ['b', 20],
      ['c', 30],
    ] as const) {
      await ledger.receive(clip(id), [], 1);
      await ledger.move(id, ['received'], 'spooled', 1, { clipPath: `/spool/${id}.clip` });
      if (id === 'c') continue;
      await ledger.move(id, ['spooled'], 'answering', 1, { trimmedPath: `/spool/${id}.cut.mp4` }, [
        act(`reply/${id}`, `lane-${id}`, { submission: id }),
      ]);
      await ledger.endAct(`reply/${id}`, { ref: null }, atMs);
    }
    expect(await ledger.spooledUntil(9, 10)).toEqual([]);
    expect(await ledger.spooledUntil(10, 10)).toEqual(['a']);
    expect(await ledger.spooledUntil(99, 1)).toEqual(['a']);
    expect(await ledger.spooledUntil(99, 10)).toEqual(['a', 'b']);
    await ledger.forgetFiles('a', 100);
    expect(await ledger.submission('a')).toMatchObject({ clipPath: null, trimmedPath: null, state: 'answered', answeredMs: 10 });
    expect(await ledger.spooledUntil(99, 10)).toEqual(['b']);
  });

  it('keeps jobs in order', async () => {
    const job = (id: string) => ({ id, member: 'juno', turn: 2, task: '{}', deaths: 0, leases: 0, answer: null });
    expect(await ledger.jobs.add(job('b'))).toBe(true);
    expect(await ledger.jobs.add(job('a'))).toBe(true);
    expect(await ledger.jobs.add({ ...job('a'), turn: 9 })).toBe(false);
    await ledger.jobs.change('b', { leases: 1, answer: '{"x":1}' });
    expect(await ledger.jobs.all()).toEqual([{ ...job('b'), leases: 1, answer: '{"x":1}' }, job('a')]);
    await ledger.jobs.remove('b');
    expect(await ledger.jobs.all()).toEqual([job('a')]);
  });
});

describe('opening', () => {
  it('says which ledger cannot be opened', async () => {
    await expect(openLedger({ file: join(folder, 'no/such/folder.sqlite') })).rejects.toMatchObject({
      code: 'ledger-unreachable',
    });
    await expect(openLedger({ databaseUrl: 'postgres://nobody@127.0.0.1:1/none' })).rejects.toMatchObject({
      code: 'ledger-unreachable',
    });
  });
});

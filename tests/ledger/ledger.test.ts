/** The ledger's promises. One file over 300 lines: every case runs on SQLite and on PostgreSQL, whose server is started once for all. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/open.ts';
import type { Ledger, NewAct } from '../../src/ledger/port.ts';
import { exampleFacts } from '../queue/fixtures/facts.ts';
import { startPostgres } from './real-postgres.ts';
import { submission as clip } from './submission.ts';

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
    expect((await ledger.waiting(1, 9)).map((s) => s.id)).toEqual(['a', 'b', 'c']);
    expect((await ledger.waiting(1, 2)).map((s) => s.id)).toEqual(['a', 'b']);
    expect(await ledger.waiting(0, 9)).toEqual([]);
    expect(await ledger.inState(['queued', 'measuring'])).toEqual(['b', 'c']);
  });

  it('lets cautions be said once to each member, whoever is first', async () => {
    for (const id of ['a', 'b']) await ledger.receive(clip(id), [], 1);
    await ledger.receive(clip('c', { authorId: 'tamsin' }), [], 1);
    const act = (id: string) => ({ key: `reply/${id}`, lane: id, submission: id, payload: {}, essential: true });
    const say = (id: string) => ledger.move(id, ['received'], 'answering', 7, { cautions: true }, [act(id)]);
    const said = await Promise.all([say('a'), say('b')]);
    expect([...said].sort()).toEqual([false, true]);
    const other = said[0] ? 'b' : 'a';
    expect(await ledger.submission(other)).toMatchObject({ state: 'received' });
    expect(await ledger.act(`reply/${other}`)).toBe(null);
    expect(await ledger.move(other, ['received'], 'answering', 8, { cautions: false })).toBe(true);
    expect(await ledger.members.get('room', 'juno')).toEqual({ statureCm: null, cautionedMs: 7 });
    await ledger.members.set('room', 'tamsin', { statureCm: 171 });
    expect(await say('c')).toBe(true);
    expect(await ledger.members.get('room', 'tamsin')).toEqual({ statureCm: 171, cautionedMs: 7 });
  });

  it('moves a clip on the desk, plans what follows and keeps what was said by it, all or nothing', async () => {
    await ledger.receive(clip('a'), [], 1);
    await ledger.desk.put('a', 'room', 2);
    const ilse = { id: 'ilse', name: 'Ilse' };
    const by = { byId: 'ilse', byName: 'Ilse', reason: 'I cannot see the hips.' };
    const said = { id: 'unusable/a', submission: 'a', kind: 'unusable', rule: 'view', ...by } as const;
    const change = { from: ['waiting'], to: 'unusable', coach: ilse } as const;
    const tell = [act('unusable/a', 'lane-a')];
    const sendBack = (acts: NewAct[]) => ledger.desk.move('a', { ...change, from: [...change.from] }, 3, acts, [said]);
    // What cannot be kept is as if the process died in the middle.
    const broken = { ...tell[0]!, key: null as unknown as string };
    await expect(sendBack([...tell, broken])).rejects.toThrow();
    expect(await ledger.desk.entry('a')).toMatchObject({ state: 'waiting' });
    expect(await ledger.act('unusable/a')).toBe(null);
    expect(await ledger.evidence.of('a')).toEqual([]);
    expect(await Promise.all([sendBack(tell), sendBack(tell)])).toEqual(expect.arrayContaining([true, false]));
    expect(await ledger.desk.entry('a')).toMatchObject({ state: 'unusable', coachId: 'ilse' });
    expect(await ledger.act('unusable/a')).toMatchObject({ state: 'planned' });
    expect(await ledger.evidence.of('a')).toEqual([{ ...said, atMs: 3 }]);
    await expect(
      ledger.desk.move('a', { from: ['unusable'], to: 'done' }, 4, [], [{ ...said, id: 'x', kind: null as unknown as 'appeal' }]),
    ).rejects.toThrow();
    expect(await ledger.desk.entry('a')).toMatchObject({ state: 'unusable' });
  });

  it("ends a coach's wish once, with what the member is told", async () => {
    const wish = { id: 'r', platform: 'room', memberId: 'juno', lift: 'squat', view: 'front', note: '' };
    await ledger.requests.add({ ...wish, clipsLeft: 2, untilMs: null, byId: 'ilse', byName: 'Ilse' }, 1);
    const ended = await Promise.all(['x', 'y'].map((key) => ledger.requests.close('r', 2, [act(key, key)])));
    expect(ended.filter(Boolean)).toHaveLength(1);
    expect(await keysDue(3)).toHaveLength(1);
    expect((await ledger.requests.find('r'))?.closedMs).toBe(2);
  });

  describe('a clip that was sent back', () => {
    const week = 7 * 24 * 3_600_000;
    const appeal = (id: string, by = 'juno') =>
      ({ id: `appeal/${id}`, submission: id, kind: 'appeal', rule: null, reason: 'fine', byId: by, byName: by }) as const;
    beforeEach(async () => {
      for (const id of ['a', 'b', 'c', 'd']) {
        await ledger.receive(clip(id), [], 1);
        const act = { key: `reply/${id}`, lane: id, submission: id, payload: {}, essential: true };
        await ledger.move(id, ['received'], 'answering', 2, { verdict: id === 'd' ? 'clean' : 'fix' }, [act]);
        await ledger.endAct(act.key, { ref: null }, 5);
      }
    });

    it('is passed on once, whoever presses what at once', async () => {
      const said = await Promise.all([
        ledger.desk.passOn('a', appeal('a'), null, 10),
        ledger.desk.passOn('a', null, null, 10),
        ledger.desk.passOn('a', { ...appeal('a'), id: 'x', kind: 'asked-view' }, null, 10),
      ]);
      expect(said.filter((one) => one === 'passed')).toHaveLength(1);
      expect(said.filter((one) => one === 'there')).toHaveLength(2);
      expect((await ledger.evidence.of('a')).length).toBeLessThanOrEqual(1);
      expect(await ledger.submission('a')).toMatchObject({ state: 'judged', verdict: 'fix', answeredMs: 5 });
      expect(await ledger.desk.entry('a')).toMatchObject({ state: 'waiting', platform: 'room', createdMs: 10 });
      const act = { key: 'coach/a', lane: 'coach', submission: 'a', payload: {}, essential: false };
      await ledger.move('a', ['judged'], 'answering', 11, {}, [act]);
      await ledger.endAct(act.key, { ref: null }, 12);
      expect(await ledger.submission('a')).toMatchObject({ state: 'answered', answeredMs: 5 });
    });

    it('is not passed on when it was not sent back, or nothing is known of it', async () => {
      expect(await ledger.desk.passOn('d', null, null, 10)).toBe('not-now');
      expect(await ledger.desk.passOn('no-such', null, null, 10)).toBe('not-now');
      expect(await ledger.desk.entry('d')).toBe(null);
      expect(await ledger.desk.entry('no-such')).toBe(null);
    });

    it('is passed on so often in a time, also by presses at once, counted by member and kind', async () => {
      const limit = (nowMs: number) => ({ sinceMs: nowMs - week, most: 1 });
      const said = await Promise.all(['a', 'b'].map((id) => ledger.desk.passOn(id, appeal(id), limit(10), 10)));
      expect([...said].sort()).toEqual(['passed', 'used-up']);
      const left = said[0] === 'passed' ? 'b' : 'a';
      expect(await ledger.submission(left)).toMatchObject({ state: 'answered' });
      expect(await ledger.evidence.count('room', 'juno', 'appeal', 0)).toBe(1);
      expect(await ledger.evidence.count('room', 'juno', 'asked-view', 0)).toBe(0);
      expect(await ledger.evidence.count('slack', 'juno', 'appeal', 0)).toBe(0);
      expect(await ledger.desk.passOn('c', { ...appeal('c'), kind: 'asked-view' }, limit(11), 11)).toBe('passed');
      expect(await ledger.desk.passOn(left, appeal(left), limit(9 + week), 9 + week)).toBe('used-up');
      expect(await ledger.desk.passOn(left, appeal(left), limit(10 + week), 10 + week)).toBe('passed');
    });
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

  it('takes the rules file as a version only when its text is not what was last read from it', async () => {
    const file = 'config/rules.yaml';
    const first = await ledger.rules.fromFile('a: 1', file, 1);
    expect(first).toMatchObject({ yaml: 'a: 1', author: file, authorId: null, atMs: 1 });
    expect(await ledger.rules.fromFile('a: 1', file, 2)).toEqual(first);
    const wren = { name: 'Wren', id: 'room/wren', reason: 'too strict' };
    const second = await ledger.rules.add('a: 2', first.version, wren, 3);
    expect(await ledger.rules.fromFile('a: 1', file, 4)).toMatchObject({ version: second, yaml: 'a: 2', author: 'Wren' });
    const third = await ledger.rules.fromFile('a: 3', file, 5);
    expect((await ledger.rules.history(9)).map(({ yaml, author, reason }) => [yaml, author, reason])).toEqual([
      ['a: 3', file, ''],
      ['a: 2', 'Wren', 'too strict'],
      ['a: 1', file, ''],
    ]);
    expect(await ledger.rules.newest()).toEqual(third);
    expect(await ledger.rules.version(first.version)).toEqual(first);
    expect(await ledger.rules.version(99)).toBe(null);
  });

  it('lets one of two changes in that come at once, with its acts', async () => {
    const { version } = await ledger.rules.fromFile('a: 1', 'file', 1);
    const by = (name: string) => ({ name, id: `room/${name}`, reason: 'why' });
    const added = await Promise.all(
      ['a', 'b', 'c'].map((who) => ledger.rules.add(who, version, by(who), 2, () => [act(`tell-${who}`, who)])),
    );
    expect(added.filter((one) => one !== null)).toHaveLength(1);
    expect(await keysDue(3)).toHaveLength(1);
    expect(await ledger.rules.add('d', version, by('d'), 3)).toBe(null);
    expect(await ledger.rules.history(9)).toHaveLength(2);
  });

  it('applies a proposal once, and only on the rules that it was made on', async () => {
    const { version } = await ledger.rules.fromFile('a: 1', 'file', 1);
    const made = (id: string) => ({ id, platform: 'room', byId: 'wren', byName: 'Wren', base: version, yaml: id });
    const wren = { name: 'Wren', id: 'room/wren', reason: 'why' };
    expect(await ledger.rules.propose(made('p'), 2)).toBe(true);
    expect(await ledger.rules.propose({ ...made('p'), yaml: 'other' }, 2)).toBe(false);
    for (const id of ['q', 'r']) await ledger.rules.propose(made(id), 2);
    expect(await ledger.rules.proposal('p')).toEqual({ ...made('p'), state: 'open', createdMs: 2 });
    expect(await ledger.rules.drop('r')).toBe(true);
    expect(await ledger.rules.drop('r')).toBe(false);
    expect(await ledger.rules.apply('r', wren, 3)).toEqual({ kind: 'not-open' });
    expect(await ledger.rules.apply('nobody', wren, 3)).toEqual({ kind: 'not-open' });
    const ends = await Promise.all([1, 2, 3].map(() => ledger.rules.apply('p', wren, 3, (made) => [act(`tell-${made}`, 'l')])));
    expect(ends.map(({ kind }) => kind).sort()).toEqual(['applied', 'not-open', 'not-open']);
    expect(await ledger.rules.newest()).toMatchObject({ yaml: 'p', author: 'Wren', reason: 'why' });
    expect(await ledger.rules.apply('q', wren, 4, () => [act('tell-q', 'q')])).toEqual({ kind: 'stale' });
    expect(await ledger.rules.proposal('q')).toMatchObject({ state: 'open' });
    expect(await keysDue(5)).toEqual([`tell-${(await ledger.rules.newest())?.version}`]);
  });

  it('lists what was judged with its request, its place on the desk and what was said of it', async () => {
    const facts = exampleFacts(12);
    for (const [i, id] of ['a', 'b', 'c', 'd', 'e'].entries()) await ledger.receive(clip(id, { authorName: id }), [], 10 + i);
    await ledger.receive({ ...clip('f'), ref: { ...clip('f').ref, platform: 'slack' } }, [], 20);
    for (const id of ['a', 'b', 'c', 'd', 'f'])
      await ledger.move(id, ['received'], 'judged', 30, { facts, judgement: { of: id }, verdict: 'fix', rulesVersion: 4 });
    const by = { byId: 'ilse', byName: 'Ilse' };
    const wish = {
      id: 'wish',
      platform: 'room',
      memberId: 'juno',
      lift: 'squat',
      view: 'front',
      note: '',
      clipsLeft: 2,
      untilMs: null,
    };
    await ledger.requests.add({ ...wish, ...by }, 1);
    await ledger.requests.serve('wish', 'b', 31);
    await ledger.move('c', ['judged'], 'judged', 31, { request: 'a wish that is gone' });
    await ledger.desk.put('b', 'room', 32);
    await ledger.evidence.add({ id: 'x', submission: 'a', kind: 'appeal', rule: 'view', reason: '', ...by }, 33);
    await ledger.evidence.add({ id: 'y', submission: 'a', kind: 'accepted', rule: null, reason: '', ...by }, 34);
    const all = await ledger.archive.judged({ last: 9 });
    expect(all.unreadable).toBe(1);
    expect(all.clips.map(({ id, request, desk, evidence }) => [id, request, desk, evidence.map(({ kind }) => kind)])).toEqual([
      ['a', null, null, ['appeal', 'accepted']],
      ['b', { lift: 'squat', view: 'front' }, 'waiting', []],
      ['d', null, null, []],
      ['f', null, null, []],
    ]);
    expect(all.clips[0]).toMatchObject({ facts, judgement: { of: 'a' }, rulesVersion: 4, authorName: 'a', createdMs: 10 });
    expect((await ledger.archive.judged({ last: 2 })).clips.map(({ id }) => id)).toEqual(['d', 'f']);
    const inTime = await ledger.archive.judged({ platform: 'room', fromMs: 10, toMs: 12 });
    expect(inTime).toMatchObject({ unreadable: 1, clips: [{ id: 'b' }] });
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

import { mkdirSync, mkdtempSync, readdirSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { submissionIdOf } from '../../src/bot/ids.ts';
import type { Ledger, SubmissionState } from '../../src/ledger/port.ts';
import { type Platform, PlatformError } from '../../src/platforms/port.ts';
import { createScene, until } from '../bot/setup.ts';
import { type StoredLedger, sayAll, states } from './stored-ledger.ts';

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
  const ilse = { name: 'Ilse', id: 'room/ilse', reason: 'too strict' };
  await scene.ledger.rules.add('view: { severity: advise }', null, ilse, scene.clock.nowMs);
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
  await ledger.rules.propose({ id: 'p1', platform, ...coach, base: 1, yaml: 'light: { severity: off }' }, nowMs);
}

import { judge } from '../../src/judge/judge.ts';
import type { Ledger, NewEvidence } from '../../src/ledger/port.ts';
import type { PlatformName } from '../../src/platforms/port.ts';
import { parseRules } from '../../src/settings/load.ts';
import { exampleFacts, viewAt } from '../facts-example.ts';

const usual = parseRules('', 'rules');

/** Keeps a squat of Juno's that was filmed from `deg` (135 is right, 180 is not), judged by the usual rules and answered, with what people said. */
export async function keepSquat(
  ledger: Ledger,
  id: string,
  deg: number,
  { evidence = [], atMs, platform = 'room' }: { evidence?: Partial<NewEvidence>[]; atMs: number; platform?: PlatformName },
): Promise<void> {
  const ref = { platform, channel: 'form-check', message: id, thread: null };
  const file = { name: 'squat.mp4', id: 'f', contentType: null, bytes: null };
  const who = { authorId: 'juno', authorName: 'Juno', caption: '', sentMs: 1 };
  await ledger.receive({ id, ref, lane: id, file, takeOf: null, root: id, ...who }, [], atMs);
  const facts = exampleFacts('squat', { view: viewAt(deg) });
  const judgement = judge(facts, { settings: usual });
  await ledger.move(id, ['received'], 'answering', atMs, { facts, judgement, verdict: judgement.verdict, rulesVersion: 1 }, [
    { key: `reply/${id}`, lane: id, submission: id, payload: null, essential: true },
  ]);
  await ledger.endAct(`reply/${id}`, { ref: null }, atMs + 8000);
  const by = { reason: '', rule: null, byId: 'juno', byName: 'Juno' };
  for (const [i, one] of evidence.entries())
    await ledger.evidence.add({ id: `${id}/${i}`, submission: id, kind: 'appeal', ...by, ...one }, atMs);
}

/** What is said of a clip that was sent back for where the phone stood, and that a coach could use. */
export const overruled: Partial<NewEvidence>[] = [{ kind: 'appeal', rule: 'view' }, { kind: 'accepted' }];

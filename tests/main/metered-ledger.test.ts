import { expect, it } from 'vitest';
import { openLedger } from '../../src/ledger/open.ts';
import type { NewAct, NewSubmission } from '../../src/ledger/port.ts';
import { meteredLedger } from '../../src/metrics/metered-ledger.ts';
import { createMetrics } from '../../src/metrics/metrics.ts';

const ref = { platform: 'room', channel: 'clips', message: '1', thread: null } as const;
const submission = (id: string): NewSubmission => ({
  ...{ id, ref, lane: id, takeOf: null, root: id, authorId: 'juno', authorName: 'Juno', caption: '', sentMs: 0 },
  file: { id: 'f', name: 'squat.mp4', contentType: null, bytes: null },
});
const judgement = {
  ...{ verdict: 'fix', lift: 'squat', cannotTell: [], trim: null, cleanByTrim: false, wanted: null },
  findings: [{ rule: 'view', message: 'outside-accepted', severity: 'fix', numbers: {} }],
};

it('counts what happened, once, however often it is repeated', async () => {
  const metrics = createMetrics();
  const ledger = meteredLedger(await openLedger({ file: ':memory:' }), metrics);
  for (const id of ['a', 'a', 'b']) await ledger.receive(submission(id), [], 0);
  await ledger.move('a', ['received'], 'received', 0, { attempts: 1 });
  for (const _ of [1, 2])
    await ledger.move('a', ['received'], 'judged', 0, { judgement, verdict: 'fix', timings: { container: 0.02, pose: 4 } });
  for (const _ of [1, 2]) await ledger.move('b', ['received'], 'failed', 0, { errorCode: 'clip-damaged' });
  const reply: NewAct = { key: 'reply/a', lane: 'a', submission: 'a', payload: {}, essential: true };
  await ledger.move('a', ['judged'], 'answering', 0, {}, [reply]);
  await ledger.beginAct('reply/a', 1000);
  await ledger.postponeAct('reply/a', 2000, 'rate-limited', 1000);
  await ledger.beginAct('reply/a', 2000);
  await ledger.endAct('reply/a', { ref }, 7000);
  metrics.watchQueue(() => ({ waiting: 3, running: 2 }));
  const text = await metrics.text();
  for (const line of [
    'quarterview_clips_received_total 2',
    'quarterview_clips_judged_total{verdict="fix"} 1',
    'quarterview_findings_total{rule="view",severity="fix"} 1',
    'quarterview_clips_failed_total{code="clip-damaged"} 1',
    'quarterview_retries_total{what="step"} 1',
    'quarterview_retries_total{what="act"} 1',
    'quarterview_stage_seconds_bucket{le="0.03",stage="container"} 1',
    'quarterview_stage_seconds_sum{stage="pose"} 4',
    'quarterview_answer_seconds_sum 7',
    'quarterview_queue_depth{state="waiting"} 3',
    'quarterview_queue_depth{state="running"} 2',
  ])
    expect(text.split('\n')).toContain(line);
  await ledger.close();
});

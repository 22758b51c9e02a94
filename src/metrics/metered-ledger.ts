import { Judgement } from '../judge/judgement.ts';
import type { Ledger, SubmissionState } from '../ledger/port.ts';
import type { Metrics } from './metrics.ts';

const failures: readonly SubmissionState[] = ['failed', 'set-aside'];

/** A ledger that counts what it keeps. The ledger says whether a move happened, so nothing is counted twice, whatever is repeated. */
export function meteredLedger(ledger: Ledger, metrics: Metrics): Ledger {
  return {
    ...ledger,
    async receive(submission, acts, nowMs) {
      const isNew = await ledger.receive(submission, acts, nowMs);
      if (isNew) metrics.received();
      return isNew;
    },
    async move(id, from, to, nowMs, change, acts) {
      const moved = await ledger.move(id, from, to, nowMs, change, acts);
      if (!moved) return false;
      if (to === 'judged') {
        const judgement = Judgement.safeParse(change?.judgement);
        metrics.judged(change?.verdict ?? 'unknown', judgement.data?.findings ?? [], change?.timings ?? {});
      } else if (failures.includes(to)) metrics.failed(change?.errorCode ?? 'unknown');
      else if (from.length === 1 && from[0] === to) metrics.retried('step');
      return true;
    },
    async postponeAct(key, notBeforeMs, error, nowMs) {
      await ledger.postponeAct(key, notBeforeMs, error, nowMs);
      metrics.retried('act');
    },
    async endAct(key, end, nowMs) {
      await ledger.endAct(key, end, nowMs);
      const act = await ledger.act(key);
      if (!act?.essential || act.submission === null || 'error' in end) return;
      const submission = await ledger.submission(act.submission);
      if (submission !== null) metrics.answered(Math.max(0, nowMs - submission.createdMs) / 1000);
    },
    jobs: {
      ...ledger.jobs,
      async change(id, change) {
        await ledger.jobs.change(id, change);
        if (change.deaths !== undefined) metrics.retried('measuring');
      },
    },
  };
}

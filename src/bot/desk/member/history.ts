import type { LiftId } from '../../../facts/facts.ts';
import { Judgement } from '../../../judge/judgement.ts';
import type { Submission } from '../../../ledger/port.ts';
import { type SetRecord, setRecordOf } from '../../../record/set-record.ts';

/** One set that went to the coaches. `atMs`: when it was posted. */
export interface PastSet {
  id: string;
  atMs: number;
  unit: 'kg' | 'lb';
  set: SetRecord;
}

/** What a member's clips come to. */
export interface History {
  takes: number;
  /** First takes, and those of them that were clean. */
  firstTakes: { count: number; clean: number };
  /** Rules that sent clips back, the most frequent first. */
  corrections: { rule: string; clips: number }[];
  /** Sets that were not sent back, the newest first. */
  sets: PastSet[];
}

/** Sums up a member's judged clips, newest first; with `lift` those of one lift. */
export function historyOf(clips: readonly Submission[], statureCm: number | null, lift: LiftId | null): History {
  const judged = clips.flatMap((s) => {
    const judgement = Judgement.safeParse(s.judgement);
    return judgement.success && (lift === null || judgement.data.lift === lift) ? [{ s, judgement: judgement.data }] : [];
  });
  const first = judged.filter(({ s }) => s.takeOf === null);
  const counts = new Map<string, number>();
  for (const { judgement } of judged) {
    const rules = judgement.findings.filter(({ severity }) => severity === 'fix').map(({ rule }) => rule);
    if (judgement.verdict === 'fix') for (const rule of new Set(rules)) counts.set(rule, (counts.get(rule) ?? 0) + 1);
  }
  const statureM = statureCm === null ? null : statureCm / 100;
  const sets = judged.flatMap(({ s, judgement }): PastSet[] => {
    if (judgement.verdict === 'fix' || judgement.lift === null || s.facts === null || !s.facts.reps.known) return [];
    const unit = (s.facts.caption.known ? s.facts.caption.value.loadUnit : null) ?? 'kg';
    return [{ id: s.id, atMs: s.sentMs, unit, set: setRecordOf(s.facts, { lift: judgement.lift, statureM }) }];
  });
  return {
    takes: judged.length,
    firstTakes: { count: first.length, clean: first.filter(({ judgement }) => judgement.verdict === 'clean').length },
    corrections: [...counts]
      .map(([rule, n]) => ({ rule, clips: n }))
      .sort((a, b) => b.clips - a.clips || a.rule.localeCompare(b.rule)),
    sets,
  };
}

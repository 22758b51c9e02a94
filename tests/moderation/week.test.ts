import { describe, expect, it } from 'vitest';
import type { Judgement } from '../../src/judge/judgement.ts';
import { type ReportedClip, weekOf } from '../../src/moderation/week.ts';
import { word } from './clips.ts';

let made = 0;
function take(verdict: Judgement['verdict'], more: Partial<ReportedClip> = {}, stoppedBy: string[] = ['view']): ReportedClip {
  made += 1;
  const id = `take-${made}`;
  const findings =
    verdict === 'fix' ? stoppedBy.map((rule) => ({ rule, message: 'm', severity: 'fix' as const, numbers: {} })) : [];
  const judgement: Judgement = { verdict, lift: 'squat', findings, cannotTell: [], trim: null, cleanByTrim: false, wanted: null };
  return {
    ...{ id, root: id, authorId: 'juno', authorName: 'Juno', judgement, durationS: 20, createdMs: 0, answeredMs: 10_000 },
    ...{ words: [], desk: null, ...more },
  };
}
const cutTo = (startS: number, endS: number): Partial<ReportedClip> => ({
  judgement: { ...take('clean').judgement, trim: { startS, endS }, cleanByTrim: true },
});

describe('a week', () => {
  it('counts clips, members and first takes', () => {
    const first = take('fix', { authorId: 'odo' });
    const week = weekOf([take('clean'), first, take('clean', { root: first.id, authorId: 'odo' }), take('unsure')], 3);
    expect(week).toMatchObject({ submissions: 4, members: 2, clean: 2, unsure: 1, fix: 1, firstTakes: { count: 3, clean: 1 } });
  });

  it('takes the middle of the times to answer, and the time of nine in ten', () => {
    const times = [1, 2, 3, 4, 5, 6, 7, 8, 9, 100].map((s) => take('clean', { createdMs: 1000, answeredMs: 1000 + s * 1000 }));
    expect(weekOf([...times, take('clean', { answeredMs: null })], 3).answerS).toEqual({ median: 5, ninetieth: 9 });
    expect(weekOf([], 3).answerS).toBe(null);
  });

  it('adds up what coaches did not have to watch', () => {
    const clips = [
      take('clean', cutTo(5, 15)),
      take('clean'),
      take('fix', { durationS: 30 }),
      take('fix', { words: [word('appeal')] }),
      take('fix', { durationS: null }),
    ];
    expect(weekOf(clips, 3).saved).toEqual({ cutClips: 1, cutS: 10, stoppedClips: 1, stoppedS: 30 });
  });

  it('sorts the corrections', () => {
    const clips = [take('fix', {}, ['view', 'light']), take('fix', {}, ['view']), take('fix', {}, ['cuts', 'cuts', 'view'])];
    expect(weekOf(clips, 3).corrections).toEqual([
      { rule: 'view', clips: 3 },
      { rule: 'light', clips: 1 },
      { rule: 'cuts', clips: 1 },
    ]);
  });

  it('says how appeals ended', () => {
    const clips = [
      take('fix', { words: [word('appeal'), word('accepted')] }),
      take('fix', { words: [word('appeal')], desk: 'done' }),
      take('fix', { words: [word('appeal')], desk: 'unusable' }),
      take('fix', { words: [word('appeal')], desk: 'waiting' }),
      take('clean', { words: [word('unusable')] }),
    ];
    expect(weekOf(clips, 3).appeals).toEqual({ made: 4, usable: 2, notUsable: 1, open: 1 });
  });

  it('names members whose last takes in a row went back', () => {
    const thread = (who: string, verdicts: Judgement['verdict'][]) =>
      verdicts.map((verdict) => take(verdict, { root: `by-${who}`, authorId: who, authorName: who }));
    const clips = [
      ...thread('odo', ['fix', 'fix', 'fix']),
      ...thread('pell', ['fix', 'fix', 'fix', 'clean']),
      ...thread('tamsin', ['clean', 'fix', 'fix', 'fix', 'fix']),
      ...thread('juno', ['fix', 'fix']),
    ];
    expect(weekOf(clips, 3).needHand).toEqual([
      { id: 'tamsin', name: 'tamsin', takes: 4 },
      { id: 'odo', name: 'odo', takes: 3 },
    ]);
  });
});

import type { Judgement } from '../judge/judgement.ts';
import { type JudgedClip, truthOf } from './judged-clip.ts';

/** A clip as it was judged then, with what the report tells of it. Times in ms since 1970. */
export interface ReportedClip extends Pick<JudgedClip, 'id' | 'words' | 'desk'> {
  authorId: string;
  authorName: string;
  /** The first take of its thread; its own id for a first take. */
  root: string;
  judgement: Judgement;
  /** Length in s, null where it is not known. */
  durationS: number | null;
  createdMs: number;
  answeredMs: number | null;
}

/** What came of the appeals. */
export interface Appeals {
  made: number;
  /** A coach could use the clip, could not, or has not said yet. */
  usable: number;
  notUsable: number;
  open: number;
}

/** Numbers of a week. Null where there is nothing to take them from. */
export interface Week {
  submissions: number;
  members: number;
  clean: number;
  unsure: number;
  fix: number;
  firstTakes: { count: number; clean: number };
  /** From the post to the end of the answer, s. */
  answerS: { median: number; ninetieth: number } | null;
  saved: {
    /** Clips that went to the coaches shorter, and what was cut away, s. */
    cutClips: number;
    cutS: number;
    /** Clips that were sent back and did not go to the coaches all the same, and their length, s. */
    stoppedClips: number;
    stoppedS: number;
  };
  /** Rules that sent clips back, the most frequent first. */
  corrections: { rule: string; clips: number }[];
  appeals: Appeals;
  /** Members whose latest takes in a row were all sent back, the most takes first. */
  needHand: { id: string; name: string; takes: number }[];
}

/** The value below which a share of the sorted values lies (nearest rank). */
function rank(sorted: readonly number[], share: number): number {
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? 0;
}

function answerTimes(clips: readonly ReportedClip[]): Week['answerS'] {
  const times = clips
    .flatMap(({ createdMs, answeredMs }) => (answeredMs === null ? [] : [(answeredMs - createdMs) / 1000]))
    .sort((a, b) => a - b);
  return times.length === 0 ? null : { median: rank(times, 0.5), ninetieth: rank(times, 0.9) };
}

function savedBy(clips: readonly ReportedClip[]): Week['saved'] {
  const saved = { cutClips: 0, cutS: 0, stoppedClips: 0, stoppedS: 0 };
  for (const clip of clips) {
    const { verdict, trim } = clip.judgement;
    if (clip.durationS === null) continue;
    if (verdict !== 'fix' && trim !== null) {
      saved.cutClips += 1;
      saved.cutS += Math.max(0, clip.durationS - (trim.endS - trim.startS));
    }
    const wentOn = clip.desk !== null || clip.words.length > 0; // the member sent it to the coaches after all
    if (verdict === 'fix' && !wentOn) {
      saved.stoppedClips += 1;
      saved.stoppedS += clip.durationS;
    }
  }
  return saved;
}

function correctionsOf(clips: readonly ReportedClip[]): Week['corrections'] {
  const byRule = new Map<string, number>();
  for (const { judgement } of clips) {
    if (judgement.verdict !== 'fix') continue;
    const said = new Set(judgement.findings.filter(({ severity }) => severity === 'fix').map(({ rule }) => rule));
    for (const rule of said) byRule.set(rule, (byRule.get(rule) ?? 0) + 1);
  }
  return [...byRule].map(([rule, count]) => ({ rule, clips: count })).sort((a, b) => b.clips - a.clips);
}

function appealsOf(clips: readonly ReportedClip[]): Appeals {
  const appealed = clips.filter(({ words }) => words.some(({ kind }) => kind === 'appeal'));
  const ends = appealed.map((clip) => truthOf(clip));
  const ended = (usable: boolean) => ends.filter((end) => end?.by === 'coach' && end.usable === usable).length;
  const [usable, notUsable] = [ended(true), ended(false)];
  return { made: appealed.length, usable, notUsable, open: appealed.length - usable - notUsable };
}

function inNeed(clips: readonly ReportedClip[], takes: number): Week['needHand'] {
  const byThread = new Map<string, ReportedClip[]>();
  for (const clip of clips) byThread.set(clip.root, [...(byThread.get(clip.root) ?? []), clip]);
  const most = new Map<string, Week['needHand'][number]>();
  for (const all of byThread.values()) {
    const inRow = all.toReversed().findIndex(({ judgement }) => judgement.verdict !== 'fix');
    const count = inRow < 0 ? all.length : inRow;
    const last = all.at(-1);
    if (last === undefined || count < takes || count <= (most.get(last.authorId)?.takes ?? 0)) continue;
    most.set(last.authorId, { id: last.authorId, name: last.authorName, takes: count });
  }
  return [...most.values()].sort((a, b) => b.takes - a.takes);
}

/** Sums up the clips of a week, oldest first. `handAfterTakes`: takes of one thread sent back in a row that call for a hand. */
export function weekOf(clips: readonly ReportedClip[], handAfterTakes: number): Week {
  const count = (verdict: Judgement['verdict']) => clips.filter((clip) => clip.judgement.verdict === verdict).length;
  const first = clips.filter(({ id, root }) => id === root);
  return {
    submissions: clips.length,
    members: new Set(clips.map(({ authorId }) => authorId)).size,
    clean: count('clean'),
    unsure: count('unsure'),
    fix: count('fix'),
    firstTakes: { count: first.length, clean: first.filter(({ judgement }) => judgement.verdict === 'clean').length },
    answerS: answerTimes(clips),
    saved: savedBy(clips),
    corrections: correctionsOf(clips),
    appeals: appealsOf(clips),
    needHand: inNeed(clips, handAfterTakes),
  };
}

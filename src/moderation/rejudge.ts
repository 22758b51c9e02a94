import { judge } from '../judge/judge.ts';
import type { Judgement, Verdict } from '../judge/judgement.ts';
import type { RulesSettings } from '../rules/settings.ts';
import { isRight, type JudgedClip, truthOf } from './judged-clip.ts';

/** Clips whose verdict changes in one way, in the order given. */
export interface Flip {
  from: Verdict;
  to: Verdict;
  ids: string[];
}

/** What other rules would have said of stored clips. */
export interface Effect {
  clips: number;
  /** The gravest first: sent back instead of passed, then passed instead of sent back, then the rest. */
  flips: Flip[];
  /** Clips of which only the corrections or advice change. */
  otherWords: string[];
  /** Clips of which people said whether they can be used, and how often each set of rules was right about them. */
  known: { clips: number; byCoach: number; rightBefore: number; rightAfter: number; mended: string[]; spoilt: string[] };
}

/** Order in which flips are told. */
const told: [Verdict, Verdict][] = [
  ['clean', 'fix'],
  ['unsure', 'fix'],
  ['fix', 'clean'],
  ['fix', 'unsure'],
  ['clean', 'unsure'],
  ['unsure', 'clean'],
];

/** A stored clip's judgement by these rules. */
export function judgedBy({ facts, request }: Pick<JudgedClip, 'facts' | 'request'>, settings: RulesSettings): Judgement {
  return judge(facts, { request, settings });
}

const saidOf = ({ findings }: Judgement) =>
  findings.map(({ rule, message, severity, numbers }) => `${rule}/${message}/${severity}/${JSON.stringify(numbers)}`).join();

/** Judges clips by the rules before and after a change. Both anew, so that nothing but the rules makes a difference. */
export function rejudge(clips: readonly JudgedClip[], before: RulesSettings, after: RulesSettings): Effect {
  const flips = new Map<string, string[]>();
  const otherWords: string[] = [];
  const known: Effect['known'] = { clips: 0, byCoach: 0, rightBefore: 0, rightAfter: 0, mended: [], spoilt: [] };
  for (const clip of clips) {
    const [was, is] = [judgedBy(clip, before), judgedBy(clip, after)];
    if (was.verdict !== is.verdict) {
      const way = `${was.verdict} ${is.verdict}`;
      flips.set(way, [...(flips.get(way) ?? []), clip.id]);
    } else if (saidOf(was) !== saidOf(is)) otherWords.push(clip.id);
    const truth = truthOf(clip);
    if (truth === null) continue;
    const [rightBefore, rightAfter] = [isRight(was.verdict, truth), isRight(is.verdict, truth)];
    known.clips += 1;
    if (truth.by === 'coach') known.byCoach += 1;
    if (rightBefore) known.rightBefore += 1;
    if (rightAfter) known.rightAfter += 1;
    if (rightAfter && !rightBefore) known.mended.push(clip.id);
    if (rightBefore && !rightAfter) known.spoilt.push(clip.id);
  }
  return {
    clips: clips.length,
    flips: told.flatMap(([from, to]) => {
      const ids = flips.get(`${from} ${to}`);
      return ids === undefined ? [] : [{ from, to, ids }];
    }),
    otherWords,
    known,
  };
}

/** How often one rule has something to say. */
export interface Share {
  /** Clips that it sends back, alone or with others. */
  stops: number;
  /** Clips that pass with its advice, or with its dead time cut away. */
  advises: number;
}

/** How often each rule stops a clip, by rule id, and of how many clips. `lift`: only clips judged as that lift; null: all. */
export function sharesOf(
  clips: readonly JudgedClip[],
  settings: RulesSettings,
  lift: Judgement['lift'],
): { clips: number; byRule: Map<string, Share> } {
  const byRule = new Map<string, Share>();
  const judged = clips.map((clip) => judgedBy(clip, settings)).filter((one) => lift === null || one.lift === lift);
  for (const { verdict, findings } of judged) {
    for (const { rule, severity } of findings) {
      const share = byRule.get(rule) ?? { stops: 0, advises: 0 };
      if (verdict === 'fix' && severity === 'fix') share.stops += 1;
      else share.advises += 1;
      byRule.set(rule, share);
    }
  }
  return { clips: judged.length, byRule };
}

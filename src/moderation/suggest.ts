import type { LiftId } from '../facts/facts.ts';
import { lifts } from '../lifts/index.ts';
import type { Rule } from '../rules/define.ts';
import { Severity } from '../rules/finding.ts';
import { rules } from '../rules/index.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';
import { isRight, type JudgedClip, type Truth, truthOf } from './judged-clip.ts';
import { judgedBy } from './rejudge.ts';
import { type RuleChange, withChange } from './rule-change.ts';

/** Nothing is suggested that rests on fewer clips. Our choice: five that all agree come by chance once in 32. */
const fewestClips = 5;
/** A rule is called often overruled from this share of the clips that it stops on. Our choice. */
const oftenShare = 0.2;
/** A change must mend this many times as many clips as it spoils. Our choice. */
const mendedToSpoilt = 3;
/** Clips that nobody spoke of and that would go the other way, for each clip mended, at most. Our choice. */
const silentToMended = 2;

/** A rule whose corrections people often contradict. */
export interface Overruled {
  rule: string;
  /** Clips that it sends back by the rules of now, alone or with others. */
  stops: number;
  /** Of these: appealed by members or used by coaches all the same, and how many of them coaches have used. */
  overruled: number;
  byCoach: number;
}

/** A change that would have been right more often. */
export interface Suggestion {
  change: RuleChange;
  from: unknown;
  /** Clips of which people said whether they can be used: judged rightly only with the change, and only without. */
  mended: number;
  spoilt: number;
  /** Clips that nobody spoke of and whose verdict would change as well. */
  silent: number;
}

interface Known {
  clip: JudgedClip;
  truth: Truth;
  right: boolean;
  lift: LiftId | null;
  /** Rules that may have been wrong: that stopped a usable clip, or that a coach missed a word of. */
  blamed: readonly string[];
}

function knownOf(clip: JudgedClip, settings: RulesSettings): Known | null {
  const truth = truthOf(clip);
  if (truth === null) return null;
  const { verdict, findings, lift } = judgedBy(clip, settings);
  const named = clip.words.filter(({ kind }) => (kind === 'unusable') !== truth.usable && kind !== 'asked-view');
  const rulesNamed = named.flatMap(({ rule }) => (rule === null ? [] : [rule]));
  const stoppedBy = verdict === 'fix' ? findings.filter(({ severity }) => severity === 'fix').map(({ rule }) => rule) : [];
  const blamed = truth.usable ? stoppedBy.filter((rule) => rulesNamed.length === 0 || rulesNamed.includes(rule)) : rulesNamed;
  return { clip, truth, right: isRight(verdict, truth), lift, blamed };
}

/** Rules whose fixes are often appealed or overruled, the most overruled first. */
export function oftenOverruled(clips: readonly JudgedClip[], settings: RulesSettings): Overruled[] {
  const byRule = new Map<string, Overruled>();
  for (const clip of clips) {
    const { verdict, findings } = judgedBy(clip, settings);
    if (verdict !== 'fix') continue;
    const known = knownOf(clip, settings);
    for (const { rule, severity } of findings) {
      if (severity !== 'fix') continue;
      const one = byRule.get(rule) ?? { rule, stops: 0, overruled: 0, byCoach: 0 };
      one.stops += 1;
      if (known?.truth.usable && known.blamed.includes(rule)) {
        one.overruled += 1;
        if (known.truth.by === 'coach') one.byCoach += 1;
      }
      byRule.set(rule, one);
    }
  }
  return [...byRule.values()]
    .filter(({ stops, overruled }) => overruled >= fewestClips && overruled >= oftenShare * stops)
    .sort((a, b) => b.overruled - a.overruled);
}

const twoDigits = (value: number) => Number(value.toPrecision(2));

/** Values to try instead of a number, the nearest first; numbers from 0 to 1 also closer to 1. */
function nearby(value: number): number[] {
  // Steps to try, chosen: small and larger ones both ways, doubled or halved at the most.
  const scaled = [0.9, 1.1, 0.8, 1.25, 0.67, 1.5, 0.5, 2].map((factor) => value * factor);
  const towardsOne = value > 0 && value < 1 ? [0.5, 0.2, 0.1].map((factor) => 1 - (1 - value) * factor) : [];
  const whole = Number.isInteger(value) && Math.abs(value) >= 3;
  const tried = [...scaled, ...towardsOne].map((one) => (whole ? Math.round(one) : twoDigits(one)));
  return [...new Set(tried)].filter((one) => one !== value);
}

/** Changes of one rule worth trying for a lift (null: all), the smallest first; only values that the rule accepts. */
function candidates(rule: Rule, lift: LiftId | null, settings: RulesSettings): { change: RuleChange; from: unknown }[] {
  // What holds for all lifts may differ by lift; then only one lift at a time has a value to start from.
  const present = (lift === null ? lifts.map(({ id }) => id) : [lift]).map((id) => effectiveRule(rule, id, settings));
  const [{ severity, options }] = present as [(typeof present)[number]];
  const alike = (read: (one: (typeof present)[number]) => unknown) =>
    present.every((one) => JSON.stringify(read(one)) === JSON.stringify(read(present[0]!)));
  const numbers = Object.entries(options).flatMap(([setting, from]) => {
    if (typeof from !== 'number' || !alike((one) => one.options[setting])) return [];
    const fits = (value: number) => rule.options.safeParse({ ...options, [setting]: value }).success;
    return nearby(from)
      .filter(fits)
      .map((value) => ({ change: { rule: rule.id, lift, setting, value }, from }));
  });
  const others = alike((one) => one.severity) ? Severity.options.filter((one) => one !== severity) : [];
  return [
    ...numbers,
    ...others.map((value) => ({ change: { rule: rule.id, lift, setting: 'severity', value }, from: severity })),
  ];
}

/** Of two changes that do the same good, the one of a number goes first, then advice instead of a fix, then none at all. */
const bluntness = ({ setting, value }: RuleChange) => (setting !== 'severity' ? 0 : value === 'off' ? 2 : 1);

function tried(known: readonly Known[], changed: RulesSettings): { mended: number; spoilt: number } {
  let [mended, spoilt] = [0, 0];
  for (const { clip, truth, right } of known) {
    const isNow = isRight(judgedBy(clip, changed).verdict, truth);
    if (isNow && !right) mended += 1;
    if (right && !isNow) spoilt += 1;
  }
  return { mended, spoilt };
}

/**
 * For each rule that people contradicted often enough, the one change of one setting that would have been right most often about the clips
 * of which people said whether they can be used; nothing that rests on fewer than five clips, or that moves many clips nobody spoke of.
 */
export function suggestions(clips: readonly JudgedClip[], settings: RulesSettings): Suggestion[] {
  const known = clips.map((clip) => knownOf(clip, settings)).filter((one) => one !== null);
  const unspoken = clips.filter((clip) => truthOf(clip) === null);
  const before = new Map<JudgedClip, string>();
  const verdictBefore = (clip: JudgedClip) => {
    const verdict = before.get(clip) ?? judgedBy(clip, settings).verdict;
    before.set(clip, verdict);
    return verdict;
  };
  return rules.flatMap((rule) => {
    const against = known.filter(({ right, blamed }) => !right && blamed.includes(rule.id));
    if (against.length < fewestClips) return [];
    const scopes = [null, ...lifts.map(({ id }) => id)].filter(
      (lift) => lift === null || against.filter((one) => one.lift === lift).length >= fewestClips,
    );
    const worth = scopes
      .flatMap((lift) => candidates(rule, lift, settings))
      .map((one) => ({ ...one, ...tried(known, withChange(settings, one.change)) }))
      .filter(({ mended, spoilt }) => mended + spoilt >= fewestClips && mended >= mendedToSpoilt * spoilt)
      .sort((a, b) => b.mended - b.spoilt - (a.mended - a.spoilt) || bluntness(a.change) - bluntness(b.change));
    for (const one of worth) {
      const changed = withChange(settings, one.change);
      const silent = unspoken.filter(
        (clip) => (judgedBy(clip, changed).verdict === 'fix') !== (verdictBefore(clip) === 'fix'),
      ).length;
      if (silent <= silentToMended * one.mended) return [{ ...one, silent }];
    }
    return [];
  });
}

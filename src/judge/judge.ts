import { known } from '../facts/fact.ts';
import type { Facts, LiftId } from '../facts/facts.ts';
import { liftOf } from '../lifts/index.ts';
import type { Rule } from '../rules/define.ts';
import type { Finding, Severity } from '../rules/finding.ts';
import { rules } from '../rules/index.ts';
import type { ViewRequest } from '../rules/request.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';
import { judgedLift } from './judged-lift.ts';
import type { Judgement } from './judgement.ts';
import { trimOf } from './trim.ts';
import { wantedPlace } from './wanted-place.ts';

/** What the judge goes by besides the facts. */
export interface JudgeOptions {
  /** Lift named in the caption, where the caller read it apart from `facts.caption`. */
  captionLift?: LiftId | null;
  /** Lift that a person chose; nothing overrules it. */
  forcedLift?: LiftId | null;
  /** A coach's open request for this member, or null. It counts only for its own lift. */
  request?: ViewRequest | null;
  /** Checked rules file; `{}` for all defaults. */
  settings: RulesSettings;
}

const noCaption = { lift: null, loadKg: null, loadUnit: null, reps: null, sets: null, rpe: null, question: null };

/** Rule messages that the trim cures. */
function curedByTrim(finding: Finding): boolean {
  return finding.rule === 'dead-time' && finding.message !== 'rest-between';
}

function severityOf(severity: Severity, sure: boolean): 'advise' | 'fix' {
  return severity === 'fix' && sure ? 'fix' : 'advise';
}

function run(
  all: readonly { rule: Rule; severity: Severity; options: Record<string, unknown> }[],
  facts: Facts,
  lift: LiftId | null,
  request: ViewRequest | null,
) {
  const findings: { finding: Finding; rule: Rule }[] = [];
  const cannotTell: { rule: string; reason: string }[] = [];
  for (const { rule, severity, options } of all) {
    if (severity === 'off' || (request !== null && rule.notFor?.includes(request.view))) continue;
    const result = rule.check({ facts, lift: liftOf(lift), options, request });
    if (result.kind === 'cannot-tell' && severity === 'fix') cannotTell.push({ rule: rule.id, reason: result.reason });
    if (result.kind !== 'found') continue;
    const finding = {
      rule: rule.id,
      message: result.message,
      severity: severityOf(severity, result.sure),
      numbers: { ...result.numbers },
    };
    findings.push({ finding, rule });
  }
  return { findings, cannotTell };
}

/**
 * A finding that another one makes superfluous: that other says the same, and more gravely, or as gravely and better. Of two that say the same
 * both ways, each as gravely, the more important one stays.
 */
function isQuiet(each: { finding: Finding; rule: Rule }, all: readonly { finding: Finding; rule: Rule }[]): boolean {
  return all.some(({ finding, rule }) => {
    if (!each.rule.quietAfter?.includes(rule.id)) return false;
    if (finding.severity !== each.finding.severity) return finding.severity === 'fix';
    return !rule.quietAfter?.includes(each.rule.id) || rule.importance > each.rule.importance;
  });
}

/** Judges one clip from its facts. Pure; never throws on valid facts and checked settings. */
export function judge(
  facts: Facts,
  { captionLift = null, forcedLift = null, request = null, settings }: JudgeOptions,
): Judgement {
  const read: Facts =
    captionLift === null
      ? facts
      : { ...facts, caption: known({ ...(facts.caption.known ? facts.caption.value : noCaption), lift: captionLift }) };
  const lift = judgedLift(read, { forcedLift, request, settings });
  const asked = request !== null && request.lift === lift ? request : null;
  const effective = rules.map((rule) => ({ rule, ...effectiveRule(rule, lift, settings) }));
  const { findings: all, cannotTell } = run(effective, read, lift, asked);
  const findings = all
    .filter((each) => !isQuiet(each, all))
    .sort(
      (a, b) =>
        Number(b.finding.severity === 'fix') - Number(a.finding.severity === 'fix') || b.rule.importance - a.rule.importance,
    )
    .map(({ finding }) => finding);
  const trim = findings.some(curedByTrim) ? trimOf(read, lift, settings) : null;
  const toFix = findings.filter(({ severity }) => severity === 'fix');
  const onlyDeadTime = toFix.length > 0 && trim !== null && toFix.every(curedByTrim);
  const nothingToFix = toFix.length === 0 || onlyDeadTime;
  const verdict = !nothingToFix ? 'fix' : cannotTell.length > 0 ? 'unsure' : 'clean';
  return {
    verdict,
    lift,
    findings,
    cannotTell,
    trim,
    cleanByTrim: onlyDeadTime && verdict === 'clean',
    wanted: wantedPlace(read, lift, asked, settings),
  };
}

import type { Facts, LiftId } from '../facts/facts.ts';
import { liftKnown } from '../rules/lift-known.ts';
import type { ViewRequest } from '../rules/request.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';

/**
 * The lift to judge by: the one a person chose; else the measured one where it is sure enough (surer still against a caption that
 * says otherwise); else the captioned one; else the one a coach waits for; else null.
 */
export function judgedLift(
  facts: Facts,
  { forcedLift, request, settings }: { forcedLift: LiftId | null; request: ViewRequest | null; settings: RulesSettings },
): LiftId | null {
  if (forcedLift !== null) return forcedLift;
  const { options } = effectiveRule(liftKnown, null, settings);
  const measured = facts.lift.known ? facts.lift.value : null;
  const confidence = facts.lift.known ? (facts.lift.confidence ?? 1) : 0;
  const captioned = facts.caption.known ? facts.caption.value.lift : null;
  if (captioned !== null && captioned !== 'other') {
    const overruled = measured !== null && measured !== 'other' && confidence >= Number(options.overruleConfidence);
    return overruled ? measured : captioned;
  }
  if (measured !== null && confidence >= Number(options.sureConfidence)) return measured;
  return captioned ?? request?.lift ?? null;
}

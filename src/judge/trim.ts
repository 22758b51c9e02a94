import type { Facts, LiftId } from '../facts/facts.ts';
import { deadTime } from '../rules/dead-time.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';

/** The lift window with its margin, inside the clip; null when the window or the clip's length is unknown or nothing would be cut. */
export function trimOf(facts: Facts, lift: LiftId | null, settings: RulesSettings): { startS: number; endS: number } | null {
  const { liftWindow, clip } = facts;
  if (!liftWindow.known || !clip.known) return null;
  const marginS = Number(effectiveRule(deadTime, lift, settings).options.marginS);
  const { durationS } = clip.value;
  const startS = Math.max(0, liftWindow.value.startS - marginS);
  const endS = Math.min(durationS, liftWindow.value.endS + marginS);
  if (endS <= startS) return null;
  return startS === 0 && endS === durationS ? null : { startS, endS };
}

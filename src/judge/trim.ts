import type { Facts, LiftId } from '../facts/facts.ts';
import { deadTime } from '../rules/dead-time.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';

/** The clip without its dead time, but for a margin; null when the lift window or the clip's length is unknown or nothing would be cut. */
export function trimOf(facts: Facts, lift: LiftId | null, settings: RulesSettings): { startS: number; endS: number } | null {
  const { liftWindow, deadTime: dead, clip } = facts;
  if (!liftWindow.known || !clip.known) return null;
  const marginS = Number(effectiveRule(deadTime, lift, settings).options.marginS);
  const { durationS } = clip.value;
  const { leadInS, tailS } = dead.known ? dead.value : { leadInS: 0, tailS: 0 };
  const startS = Math.max(0, Math.min(liftWindow.value.startS, leadInS) - marginS);
  const endS = Math.min(durationS, Math.max(liftWindow.value.endS, durationS - tailS) + marginS);
  if (endS <= startS) return null;
  return startS === 0 && endS === durationS ? null : { startS, endS };
}

import { LiftId } from '../facts/facts.ts';
import type { StoredRequest } from '../ledger/port.ts';
import { RequestedView, type ViewRequest } from '../rules/request.ts';
import type { RequestLeft } from '../wording/coach-words.ts';
import { languageOf } from '../wording/index.ts';
import type { BotDeps } from './deps.ts';
import { localTime } from './local-time.ts';

/** A stored wish as the judge takes it; null for one of another version of the program. */
export function viewRequestOf(stored: Pick<StoredRequest, 'lift' | 'view'>): ViewRequest | null {
  const lift = LiftId.safeParse(stored.lift);
  const view = RequestedView.safeParse(stored.view);
  return lift.success && view.success ? { lift: lift.data, view: view.data } : null;
}

/** What is left of a wish, in words. */
export function leftOf(
  { clipsLeft, untilMs }: Pick<StoredRequest, 'clipsLeft' | 'untilMs'>,
  { language, settings }: Pick<BotDeps, 'language' | 'settings'>,
): RequestLeft {
  if (clipsLeft !== null) return { clips: clipsLeft };
  if (untilMs === null) return null;
  return { until: languageOf(language).coach.day(localTime(untilMs - 1, settings().zone).date) };
}

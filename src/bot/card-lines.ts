import { Judgement } from '../judge/judgement.ts';
import type { Submission } from '../ledger/port.ts';
import { wordLoad } from '../wording/card.ts';
import { languageOf } from '../wording/index.ts';
import type { BotDeps } from './deps.ts';
import { localTime } from './local-time.ts';
import { viewRequestOf } from './view-request.ts';

const mostEarlier = 3; // chosen: the card stays readable on a phone

type Deps = Pick<BotDeps, 'ledger' | 'language' | 'settings' | 'threadUrl'>;

/** What a card says besides the clip: the wish that the clip was judged by, and the newest of the member's `earlier` clips of the lift. */
export async function cardLines(s: Submission, earlier: readonly Submission[], deps: Deps): Promise<string[]> {
  const { card } = languageOf(deps.language).coach;
  const stored = s.request === null ? null : await deps.ledger.requests.find(s.request);
  const asked = stored === null ? null : viewRequestOf(stored);
  const byRequest =
    stored === null || asked === null ? [] : [card.byRequest({ coach: stored.byName, view: asked.view, note: stored.note })];
  return [...byRequest, ...earlier.slice(0, mostEarlier).flatMap((one) => earlierLine(one, deps))];
}

function earlierLine(s: Submission, deps: Deps): string[] {
  const { coach } = languageOf(deps.language);
  const judgement = Judgement.safeParse(s.judgement);
  if (!judgement.success) return [];
  const day = coach.day(localTime(s.sentMs, deps.settings().zone).date);
  const loadText = s.facts === null ? null : wordLoad(s.facts, deps.language);
  return [coach.card.earlier({ day, loadText, verdict: judgement.data.verdict, url: deps.threadUrl(s.ref) })];
}

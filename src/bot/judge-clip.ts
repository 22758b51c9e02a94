import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Submission } from '../ledger/port.ts';
import type { BotDeps } from './deps.ts';
import { viewRequestOf } from './view-request.ts';

/** The facts of a clip cannot be judged, whatever is tried again; `cause` says why. */
export class JudgeError extends Error {
  readonly code = 'clip-not-judged';
  readonly retry = false;
}

/**
 * Judges a clip by the coach's wish that is open now for its member and lift, else by the usual rules. A wish whose lift nobody can tell apart
 * counts too. A clip that passes by a wish is counted for it, once; when another clip used the wish up meanwhile, the usual rules count.
 * Throws {@link JudgeError}, and what the ledger throws.
 */
export async function judgeClip(
  s: Submission,
  facts: Facts,
  deps: Pick<BotDeps, 'ledger' | 'judge' | 'rules' | 'nowMs'>,
): Promise<{ judgement: Judgement; rulesVersion: number; request: string | null }> {
  const { ledger, nowMs } = deps;
  const judge = (...given: Parameters<BotDeps['judge']>) => {
    try {
      // The rules may change between two judgements, each of which is by one version.
      return { judgement: deps.judge(...given), rulesVersion: deps.rules.inForce().version };
    } catch (cause) {
      throw new JudgeError('a clip could not be judged', { cause });
    }
  };
  // Counted before a crash: it may be used up by now, by this very clip.
  const counted = s.request === null ? null : await ledger.requests.find(s.request);
  if (counted !== null) return { ...judge(facts, viewRequestOf(counted)), request: counted.id };
  const usual = judge(facts, null);
  for (const open of await ledger.requests.openOf(s.ref.platform, s.authorId, nowMs())) {
    const asked = viewRequestOf(open);
    if (asked === null || (usual.judgement.lift !== null && usual.judgement.lift !== asked.lift)) continue;
    const wished = judge(facts, asked);
    if (wished.judgement.lift !== asked.lift) continue;
    if (wished.judgement.verdict === 'fix' || (await ledger.requests.serve(open.id, s.id, nowMs())))
      return { ...wished, request: open.id };
  }
  return { ...usual, request: null };
}

import { stat } from 'node:fs/promises';
import { Judgement } from '../../../judge/judgement.ts';
import type { NewEvidence, Submission } from '../../../ledger/port.ts';
import type { ActionReply } from '../../../platforms/port.ts';
import { languageOf } from '../../../wording/index.ts';
import { type Ask, privately } from '../use-case.ts';

const weekMs = 7 * 24 * 3_600_000;

/** The clip of an act, if it is this member's, was sent back and can still go to the coaches; else what to say. */
export async function sentBackClip(ask: Ask): Promise<{ s: Submission; judgement: Judgement } | ActionReply> {
  const { deps, person, args } = ask;
  const { passing } = languageOf(deps.language).member;
  const s = args[0] === undefined ? null : await deps.ledger.submission(args[0]);
  if (s === null || s.ref.platform !== person.platform) return privately(passing.unknownClip);
  if (s.authorId !== person.id) return privately(passing.notYours);
  if ((await deps.ledger.desk.entry(s.id)) !== null) return privately(passing.there);
  if (s.verdict !== 'fix' || s.judgement === null || s.facts === null) return privately(passing.notSentBack);
  const found = s.clipPath === null ? null : await stat(s.clipPath).catch(() => null);
  if (found === null) return privately(passing.clipGone);
  return { s, judgement: Judgement.parse(s.judgement) };
}

/** How often a member may say something of one kind in a week. */
export interface WeeklyLimit {
  most: number;
  /** What is said when it is used up. */
  usedUp: string;
}

/** Whether the member has said this as often as a week allows. */
export async function isUsedUp({ deps, person }: Ask, kind: NewEvidence['kind'], { most }: WeeklyLimit): Promise<boolean> {
  return (await deps.ledger.evidence.count(person.platform, person.id, kind, deps.nowMs() - weekMs)) >= most;
}

/** Sends a clip that was sent back to the coaches, once whatever is pressed; what the member is told. */
export async function passOn(
  { deps, person, kick }: Ask,
  s: Submission,
  said: { kind: 'appeal' | 'asked-view'; rule: string | null; reason: string; limit: WeeklyLimit } | null,
): Promise<ActionReply> {
  const { passing } = languageOf(deps.language).member;
  const nowMs = deps.nowMs();
  const evidence: NewEvidence | null =
    said === null
      ? null
      : {
          id: `${said.kind}/${s.id}`,
          submission: s.id,
          ...{ kind: said.kind, rule: said.rule, reason: said.reason },
          ...{ byId: person.id, byName: person.name },
        };
  const limit = said === null ? null : { sinceMs: nowMs - weekMs, most: said.limit.most };
  const outcome = await deps.ledger.desk.passOn(s.id, evidence, limit, nowMs);
  if (outcome === 'used-up') return privately(said?.limit.usedUp ?? passing.there);
  if (outcome === 'there') return privately(passing.there);
  if (outcome === 'not-now') return privately(passing.notSentBack);
  deps.log.info({ id: s.id, why: said?.kind ?? 'cut' }, 'a clip that was sent back goes to the coaches');
  kick();
  return privately(passing.passed);
}

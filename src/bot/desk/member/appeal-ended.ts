import type { NewEvidence, Submission } from '../../../ledger/port.ts';
import type { BotDeps } from '../../deps.ts';

/**
 * Keeps that a coach could use a clip that was sent back and that its member sent on. Call it when a coach is done with a clip; repeating is
 * harmless, and nothing happens for clips that nobody sent on.
 */
export async function noteAccepted(
  s: Pick<Submission, 'id'>,
  coach: { id: string; name: string },
  { ledger, nowMs }: Pick<BotDeps, 'ledger' | 'nowMs'>,
): Promise<void> {
  const said = (await ledger.evidence.of(s.id)).find(({ kind }) => kind === 'appeal' || kind === 'asked-view');
  if (said === undefined) return;
  const { rule } = said;
  const evidence: NewEvidence = {
    ...{ id: `accepted/${s.id}`, submission: s.id, kind: 'accepted', rule, reason: '' },
    ...{ byId: coach.id, byName: coach.name },
  };
  await ledger.evidence.add(evidence, nowMs());
}

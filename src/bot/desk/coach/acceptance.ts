import type { NewEvidence, Submission } from '../../../ledger/port.ts';
import type { BotDeps } from '../../deps.ts';

/** What it says that a coach is done with a clip: that they could use it, if it was sent back and its member sent it on; else nothing. */
export async function acceptance(
  s: Pick<Submission, 'id'>,
  coach: { id: string; name: string },
  { ledger }: Pick<BotDeps, 'ledger'>,
): Promise<NewEvidence[]> {
  const said = (await ledger.evidence.of(s.id)).find(({ kind }) => kind === 'appeal' || kind === 'asked-view');
  if (said === undefined) return [];
  const { rule } = said;
  const by = { byId: coach.id, byName: coach.name };
  return [{ id: `accepted/${s.id}`, submission: s.id, kind: 'accepted', rule, reason: '', ...by }];
}

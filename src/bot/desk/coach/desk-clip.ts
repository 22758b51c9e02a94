import type { Facts } from '../../../facts/facts.ts';
import { Judgement } from '../../../judge/judgement.ts';
import type { DeskEntry, NewAct, NewEvidence, Submission } from '../../../ledger/port.ts';
import type { ActionReply } from '../../../platforms/port.ts';
import { wordCardTitle } from '../../../wording/card.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';
import { marksAct } from '../../payload.ts';
import { type Ask, privately } from '../use-case.ts';
import { cardButtons, cardEdit } from './card.ts';

/** A clip on the desk with what coaches are told of it. */
export interface DeskClip {
  s: Submission;
  facts: Facts;
  judgement: Judgement;
  entry: DeskEntry;
  /** The card's first line, without bold. */
  title: string;
  url: string | null;
}

/** The clip of a desk entry with its title; null when it is not known any more. */
export async function clipOf(
  entry: DeskEntry,
  deps: Pick<BotDeps, 'ledger' | 'language' | 'threadUrl'>,
): Promise<DeskClip | null> {
  const s = await deps.ledger.submission(entry.submission);
  if (s === null || s.facts === null || s.judgement === null) return null;
  const judgement = Judgement.parse(s.judgement);
  const title = wordCardTitle(judgement, s.facts, { language: deps.language, name: s.authorName }).replaceAll('**', '');
  return { s, facts: s.facts, judgement, entry, title, url: deps.threadUrl(s.ref) };
}

/** The clip that an act is about, on the desk of the person's own platform; else what to say. */
export async function clipOnDesk({ deps, person, args }: Ask): Promise<DeskClip | ActionReply> {
  const entry = args[0] === undefined ? null : await deps.ledger.desk.entry(args[0]);
  const clip = entry === null || entry.platform !== person.platform ? null : await clipOf(entry, deps);
  return clip ?? privately(languageOf(deps.language).coach.told.gone);
}

/** What to say of a clip that is not where the coach thought it was. */
export async function whereItIs({ deps, person }: Ask, { s }: DeskClip): Promise<ActionReply> {
  const { told } = languageOf(deps.language).coach;
  const entry = await deps.ledger.desk.entry(s.id);
  if (entry === null) return privately(told.gone);
  const { state } = entry;
  const coach = entry.coachName ?? '';
  if (state === 'done' || state === 'unusable') return privately(told.over(coach, state));
  const buttons = cardButtons(s.id, state, deps);
  if (state === 'waiting') return privately(told.notTaken, { buttons });
  return entry.coachId === person.id ? privately(told.yoursAlready, { buttons }) : privately(told.takenBy(coach));
}

/**
 * Moves a clip on the desk and changes its card, together with `more` acts and what was said of it by that. False, and nothing changes, when it is not in a state of `from` or,
 * with `heldBy`, another coach has it. A press that comes again, even after a restart, moves nothing and is true.
 */
export async function moveClip(
  { deps, action, kick }: Ask,
  { s }: DeskClip,
  change: Parameters<BotDeps['ledger']['desk']['move']>[1],
  line: string,
  more: NewAct[] = [],
  said: NewEvidence[] = [],
): Promise<boolean> {
  const { ledger, nowMs } = deps;
  const key = `card/${s.id}/${action.pressId}`;
  if ((await ledger.act(key)) !== null) return true;
  const edit = await cardEdit(s, change.to, line, key, deps);
  const moved = await ledger.desk.move(s.id, change, nowMs(), [edit, ...more], said);
  if (moved) kick();
  return moved;
}

/** Sets the marks of a clip and of the earlier takes that it answers for. */
export async function marksOfTakes(s: Submission, why: string, { ledger }: Pick<BotDeps, 'ledger'>): Promise<NewAct[]> {
  const takes = (await ledger.inLane(s.lane)).filter((take) => take.root === s.root);
  const refs = new Map([...takes, s].map((take) => [take.ref.message, take.ref]));
  return [...refs.values()].map((ref) => marksAct(s, ref, why));
}

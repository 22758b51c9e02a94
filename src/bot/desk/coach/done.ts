import type { Submission } from '../../../ledger/port.ts';
import { languageOf } from '../../../wording/index.ts';
import type { BotDeps } from '../../deps.ts';
import { privately, type UseCase } from '../use-case.ts';
import { acceptance } from './acceptance.ts';
import { clipOnDesk, marksOfTakes, moveClip, whereItIs } from './desk-clip.ts';

/** Whether a later take of the same clip was judged, whose mark the posts have then. */
async function hasNewerTake(s: Submission, { ledger }: Pick<BotDeps, 'ledger'>): Promise<boolean> {
  const takes = await ledger.inLane(s.lane);
  const later = takes.slice(takes.findIndex(({ id }) => id === s.id) + 1);
  return later.some(({ root, verdict }) => root === s.root && verdict !== null);
}

/** A coach is done with a clip that they took: the member's post has the mark, and nothing else is said. */
export const done: UseCase = {
  id: 'done',
  who: 'coach',
  async run(ask) {
    const { deps, person } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    const { s } = clip;
    const { card, told } = languageOf(deps.language).coach;
    const marks = await marksOfTakes(s, 'done', deps);
    const change = { from: ['taken' as const], to: 'done' as const, heldBy: person.id };
    const moved = await moveClip(ask, clip, change, card.done(person.name), marks, await acceptance(s, person, deps));
    if (!moved) return whereItIs(ask, clip);
    return privately(told.done(s.authorName, await hasNewerTake(s, deps)));
  },
};

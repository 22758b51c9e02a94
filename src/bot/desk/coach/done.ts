import { languageOf } from '../../../wording/index.ts';
import { noteAccepted } from '../member/appeal-ended.ts';
import { privately, type UseCase } from '../use-case.ts';
import { clipOnDesk, marksOfTakes, moveClip, whereItIs } from './desk-clip.ts';

/** A coach is done with a clip that they took: the member's post has the mark, and nothing else is said. */
export const done: UseCase = {
  id: 'done',
  who: 'coach',
  async run(ask) {
    const { deps, person } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    const { card, told } = languageOf(deps.language).coach;
    const marks = await marksOfTakes(clip.s, 'done', deps);
    const change = { from: ['taken' as const], to: 'done' as const, heldBy: person.id };
    if (!(await moveClip(ask, clip, change, card.done(person.name), marks))) return whereItIs(ask, clip);
    await noteAccepted(clip.s, person, deps);
    return privately(told.done(clip.s.authorName));
  },
};

import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { cardButtons } from './card.ts';
import { clipOnDesk, moveClip, whereItIs } from './desk-clip.ts';

/** A coach takes a clip that waits. */
export const take: UseCase = {
  id: 'take',
  who: 'coach',
  async run(ask) {
    const { deps, person } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    const { card, told } = languageOf(deps.language).coach;
    const coach = { id: person.id, name: person.name };
    const moved = await moveClip(ask, clip, { from: ['waiting'], to: 'taken', coach }, card.taken(coach.name));
    if (!moved) return whereItIs(ask, clip);
    return privately(told.taken(clip.title, clip.url), { buttons: cardButtons(clip.s.id, 'taken', deps) });
  },
};

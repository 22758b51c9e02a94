import { languageOf } from '../../../wording/index.ts';
import { isWho } from '../permissions.ts';
import { privately, type UseCase } from '../use-case.ts';
import { clipOnDesk, moveClip, whereItIs } from './desk-clip.ts';

/** A coach gives a clip back that they took; a moderator may give back that of another. */
export const handBack: UseCase = {
  id: 'hand-back',
  who: 'coach',
  async run(ask) {
    const { deps, person } = ask;
    const clip = await clipOnDesk(ask);
    if ('kind' in clip) return clip;
    const { told } = languageOf(deps.language).coach;
    const mayAll = isWho(person, 'moderator', deps.settings());
    const holder = mayAll ? {} : { heldBy: person.id };
    if (await moveClip(ask, clip, { from: ['taken'], to: 'waiting', ...holder }, '')) return privately(told.handedBack);
    const { entry } = clip;
    if (entry.state === 'taken' && entry.coachId !== person.id) return privately(told.notYours(entry.coachName ?? ''));
    return whereItIs(ask, clip);
  },
};

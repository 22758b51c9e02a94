import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { passOn, sentBackClip } from './own-clip.ts';
import { mayBeAsked } from './reply-buttons.ts';

/** The member says that a coach asked for this view: the clip goes to the coaches, marked so. */
export const askedView: UseCase = {
  id: 'asked-view',
  who: 'anyone',
  async run(ask) {
    const { passing } = languageOf(ask.deps.language).member;
    const found = await sentBackClip(ask);
    if ('kind' in found) return found;
    if (!mayBeAsked(found.judgement)) return privately(passing.notAboutView);
    const most = ask.deps.settings().askedViewsPerWeek;
    const limit = { most, usedUp: passing.askedUsedUp(most) };
    return passOn(ask, found.s, { kind: 'asked-view', rule: 'view', reason: '', limit });
  },
};

import { curedByCut } from '../../../judge/cured-by-cut.ts';
import { languageOf } from '../../../wording/index.ts';
import { privately, type UseCase } from '../use-case.ts';
import { passOn, sentBackClip } from './own-clip.ts';

/** The member takes the clip as the bot cuts it, where that cures all that was to be fixed. */
export const useCut: UseCase = {
  id: 'use-cut',
  who: 'anyone',
  async run(ask) {
    const found = await sentBackClip(ask);
    if ('kind' in found) return found;
    if (!curedByCut(found.judgement)) return privately(languageOf(ask.deps.language).member.passing.notCured);
    return passOn(ask, found.s, null);
  },
};

import { askView } from './coach/ask-view.ts';
import { done } from './coach/done.ts';
import { endRequest } from './coach/end-request.ts';
import { handBack } from './coach/hand-back.ts';
import { take } from './coach/take.ts';
import { unusable } from './coach/unusable.ts';
import { waiting } from './coach/waiting.ts';
import { appeal } from './member/appeal.ts';
import { askedView } from './member/asked-view.ts';
import { film } from './member/film.ts';
import { useCut } from './member/use-cut.ts';
import type { UseCase } from './use-case.ts';

/** All that people can do, one file each. */
export const useCases: readonly UseCase[] = [
  waiting,
  take,
  handBack,
  done,
  unusable,
  askView,
  endRequest,
  film,
  useCut,
  askedView,
  appeal,
];

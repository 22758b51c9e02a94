import { appeal } from './member/appeal.ts';
import { askedView } from './member/asked-view.ts';
import { film } from './member/film.ts';
import { useCut } from './member/use-cut.ts';
import type { UseCase } from './use-case.ts';

/** All that people can do, one file each. */
export const useCases: readonly UseCase[] = [film, useCut, askedView, appeal];

import { film } from './member/film.ts';
import type { UseCase } from './use-case.ts';

/** All that people can do, one file each. */
export const useCases: readonly UseCase[] = [film];

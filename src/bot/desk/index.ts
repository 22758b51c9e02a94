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
import { forgetMe } from './member/forget-me.ts';
import { myHeight } from './member/my-height.ts';
import { myLifts } from './member/my-lifts.ts';
import { useCut } from './member/use-cut.ts';
import { applyRules } from './moderator/apply-rules.ts';
import { changeRule } from './moderator/change-rule.ts';
import { dropRules } from './moderator/drop-rules.ts';
import { goBack } from './moderator/go-back.ts';
import { listRules } from './moderator/list-rules.ts';
import { pasteRules } from './moderator/paste-rules.ts';
import { rulesHistory } from './moderator/rules-history.ts';
import { saveRules } from './moderator/save-rules.ts';
import { showRule } from './moderator/show-rule.ts';
import { suggestRules } from './moderator/suggest-rules.ts';
import { trySuggestion } from './moderator/try-suggestion.ts';
import { undoRules } from './moderator/undo-rules.ts';
import { weekReport } from './moderator/week-report.ts';
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
  myLifts,
  myHeight,
  forgetMe,
  listRules,
  showRule,
  changeRule,
  pasteRules,
  applyRules,
  dropRules,
  undoRules,
  rulesHistory,
  goBack,
  saveRules,
  suggestRules,
  trySuggestion,
  weekReport,
];

import type { Finding } from '../rules/finding.ts';
import { languageOf } from './index.ts';

/**
 * How a new take compares with the last one: which asked-for corrections are done, which are left, which are new. Only corrections
 * count, not advice. Empty when the last take had none to make and this one has none either.
 */
export function wordProgress(before: readonly Finding[], after: readonly Finding[], language: string): { text: string } {
  const words = languageOf(language);
  const rulesOf = (findings: readonly Finding[]) =>
    new Set(findings.filter((finding) => finding.severity === 'fix').map((finding) => finding.rule));
  const was = rulesOf(before);
  const is = rulesOf(after);
  const names = (rules: string[]) => rules.map((rule) => words.ruleNames[rule] ?? rule);
  const fixed = [...was].filter((rule) => !is.has(rule));
  const left = [...was].filter((rule) => is.has(rule));
  const fresh = [...is].filter((rule) => !was.has(rule));
  const { progress } = words;
  const lines = [
    fixed.length > 0 ? progress.fixed(names(fixed)) : null,
    left.length > 0 ? progress.left(names(left)) : null,
    fresh.length > 0 ? progress.fresh(names(fresh)) : null,
    was.size > 0 && is.size === 0 ? progress.allFixed : null,
  ];
  return { text: lines.filter((line) => line !== null).join('\n') };
}

/** What a clip's progress message says. `ahead`: clips before this one, null when unknown; `share`: how much is measured, 0..1, null before. */
export function wordWaiting(state: { ahead: number | null; share: number | null }, language: string): string {
  const percent = state.share === null ? null : Math.min(99, Math.round(state.share * 20) * 5);
  return languageOf(language).chat.waiting({ ahead: state.ahead, percent });
}

/** The sentence to a link to a video site. */
export function wordUploadInstead(language: string): string {
  return languageOf(language).chat.uploadInstead;
}

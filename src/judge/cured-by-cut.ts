import type { Finding } from '../rules/finding.ts';
import type { Judgement } from './judgement.ts';

const timeMessages = new Set([
  'dead-time/lead-in',
  'dead-time/tail',
  'dead-time/both-ends',
  'clip-length/long-for-reps',
  'cuts/cut-outside',
]);

/** Whether the clip as the bot cuts it (upright, and to `trim` where there is one) is free of this finding. */
function isCured(finding: Finding, trim: Judgement['trim']): boolean {
  return finding.rule === 'orientation' || (trim !== null && timeMessages.has(`${finding.rule}/${finding.message}`));
}

/** Whether cutting the clip cures everything that is to be fixed about it; false when there is nothing to fix. */
export function curedByCut({ findings, trim }: Pick<Judgement, 'findings' | 'trim'>): boolean {
  const toFix = findings.filter(({ severity }) => severity === 'fix');
  return toFix.length > 0 && toFix.every((finding) => isCured(finding, trim));
}

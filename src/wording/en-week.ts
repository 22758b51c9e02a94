import { percent, ruleSaid, when } from './en-moderator-parts.ts';
import { count } from './en-phrases.ts';
import type { ModeratorWords, WeekSaid } from './moderator-words.ts';

const mostRules = 5; // chosen: one line of the report
const mostMembers = 10; // chosen: whom one can look after in a week

/** A length of time, to the minute from ten minutes on. */
function lasted(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  return seconds < 600 ? `${Math.round(seconds / 6) / 10} min` : `${Math.round(seconds / 60)} min`;
}

function saved({ saved: { cutClips, cutS, stoppedClips, stoppedS }, correctionMin }: WeekSaid): string {
  const wroteS = stoppedClips * correctionMin * 60;
  const parts = [
    `${lasted(cutS)} cut from ${count(cutClips, 'clip')} that went to the coaches`,
    `${lasted(stoppedS)} of ${count(stoppedClips, 'clip')} that were sent back and not watched`,
    ...(correctionMin > 0 ? [`${stoppedClips} corrections not written, ${correctionMin} min each by the settings`] : []),
  ];
  return `**Coaches' time saved:** ${lasted(cutS + stoppedS + wroteS)} = ${parts.join(' + ')}.`;
}

function appeals({ appeals: { made, usable, notUsable, open } }: WeekSaid): string {
  if (made === 0) return '**Appeals:** none.';
  return `**Appeals:** ${made}; a coach could use ${usable} and could not use ${notUsable}, ${open} not looked at yet.`;
}

/** The moderators' report of a week; all numbers are of clips received in it. */
export const weekReport: ModeratorWords['week'] = (week) => {
  const { submissions, members, clean, unsure, fix, firstTakes, answerS, corrections, needHand, suggestions } = week;
  const top = corrections.slice(0, mostRules).map(({ rule, clips }) => `${ruleSaid(rule)} ${clips}`);
  const hand = needHand.slice(0, mostMembers).map(({ name, takes }) => `${name} (${takes} takes sent back in a row)`);
  return [
    `**The seven days up to ${when(week.toMs)}**`,
    `**Clips:** ${submissions} by ${count(members, 'member')}: ${clean} clean, ${unsure} unsure, ${fix} sent back.`,
    `**First takes:** ${firstTakes.clean} of ${firstTakes.count} clean (${percent(firstTakes.clean, firstTakes.count)}).`,
    answerS === null
      ? '**Time to answer:** nothing was answered.'
      : `**Time to answer:** half within ${lasted(answerS.median)}, nine in ten within ${lasted(answerS.ninetieth)}.`,
    saved(week),
    `**Corrections:** ${top.length === 0 ? 'none' : top.join(', ')}.`,
    appeals(week),
    ...(hand.length === 0 ? [] : [`**Could use a hand:** ${hand.join(', ')}.`]),
    ...(suggestions === 0
      ? []
      : [`**Rules:** I have ${count(suggestions, 'suggestion')}; ask for the rules and press Suggestions.`]),
  ].join('\n');
};

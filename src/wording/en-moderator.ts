import type { LiftId } from '../facts/facts.ts';
import type { Verdict } from '../judge/judgement.ts';
import { dayOf, percent, ruleSaid, when } from './en-moderator-parts.ts';
import { count } from './en-phrases.ts';
import { weekReport } from './en-week.ts';
import type { ClipSaid, DifferenceSaid, EffectSaid, ModeratorWords, RuleSaid } from './moderator-words.ts';
import { roundTo } from './numbers.ts';

const liftNames: Record<LiftId, string> = {
  squat: 'squat',
  press: 'press',
  deadlift: 'deadlift',
  bench: 'bench press',
  other: 'other lift',
};
const severities = { off: 'not looked at', advise: 'advice only', fix: 'sends back' } as const;
const verdicts: Record<Verdict, string> = { clean: 'clean', fix: 'sent back', unsure: 'unsure' };

const liftOf = (lift: LiftId | null) => (lift === null ? 'all lifts' : liftNames[lift]);
const clipsOf = (n: number) => count(n, 'clip');

/** A value of a rules file as it is typed there. */
function value(one: unknown): string {
  if (one === undefined || one === null) return 'nothing';
  if (Array.isArray(one)) return `[${one.map(value).join(', ')}]`;
  if (typeof one === 'object')
    return `{ ${Object.entries(one)
      .map(([k, v]) => `${k}: ${value(v)}`)
      .join(', ')} }`;
  return typeof one === 'number' ? String(roundTo(one, 0.001)) : String(one);
}

function settingValue(setting: string, one: unknown): string {
  if (setting === 'severity') return severities[one as keyof typeof severities] ?? value(one);
  if (setting.startsWith('text: ')) return one === null ? "the bot's own words" : `“${one}”`;
  return value(one);
}

function difference({ rule, lifts, setting, from, to }: DifferenceSaid): string {
  const where =
    lifts === 'all' ? 'all lifts' : lifts.map((lift) => (lift === null ? 'lift not known' : liftNames[lift])).join(', ');
  return `${ruleSaid(rule)}, ${where}: ${setting === 'severity' ? '' : `${setting} `}${settingValue(setting, from)} → ${settingValue(setting, to)}`;
}

function clipLine({ name, lift, atMs, url }: ClipSaid): string {
  return `· ${name}, ${lift === null ? 'lift not known' : liftNames[lift]}, ${dayOf(atMs)}${url === null ? '' : ` ${url}`}`;
}

/** Who said whether clips can be used. */
function saidBy({ clips, byCoach }: EffectSaid['known']): string {
  if (byCoach === clips) return 'all by coaches';
  const members = `${clips - byCoach} by the member, with an appeal`;
  return byCoach === 0 ? members : `${byCoach} by a coach, ${members}`;
}

function effect({ clips, unreadable, flips, otherWords, known }: EffectSaid): string {
  if (clips === 0) return 'No clips are kept yet to judge again, so I cannot tell what it would do.';
  const ways = flips.map(({ from, to, clips: n, shown }) => {
    const hidden = n - shown.length;
    const more = shown.length > 0 && hidden > 0 ? [`· and ${hidden} more`] : [];
    return [`**${clipsOf(n)}: ${verdicts[from]} → ${verdicts[to]}**`, ...shown.map(clipLine), ...more].join('\n');
  });
  const evidence =
    known.clips === 0
      ? 'Nobody has said of any of these clips whether it can be used.'
      : `People have said of ${known.clips} of them whether they can be used (${saidBy(known)}). ` +
        `The rules are right about ${known.rightBefore} of these now, and would be about ${known.rightAfter}: ` +
        `${known.mended} put right, ${known.spoilt} made wrong.`;
  return [
    `I judged the last ${clipsOf(clips)} again, by the rules as they are and as they would be.`,
    ...(flips.length === 0 ? ['No verdict changes.'] : ways),
    ...(otherWords > 0 ? [`${clipsOf(otherWords)} more would get other corrections or advice, with the same verdict.`] : []),
    evidence,
    ...(unreadable > 0 ? [`Left out: ${clipsOf(unreadable)} that I cannot read any more.`] : []),
  ].join('\n');
}

const optionsOf = ({ options }: RuleSaid) =>
  options.map(([name, one]) => `${name} ${one === undefined ? 'differs by lift' : value(one)}`).join(', ');
const severityOf = ({ severity }: RuleSaid) => (severity === null ? 'differs by lift' : severities[severity]);

function listLine(rule: RuleSaid): string {
  const { clips, stops, advises } = rule.share;
  const said = [
    ...(stops > 0 ? [`stops ${percent(stops, clips)}`] : []),
    ...(advises > 0 ? [`advice to ${percent(advises, clips)}`] : []),
  ];
  const options = optionsOf(rule);
  return `${[ruleSaid(rule.rule), severityOf(rule), ...said].join(' · ')}${options === '' ? '' : `\n  ${options}`}`;
}

/** To moderators, in English. */
export const moderatorWords: ModeratorWords = {
  commands: {
    rules: 'Show what I ask of clips, and change it',
    rulesLift: 'Only for this lift',
    report: 'The last seven days in numbers',
  },
  buttons: {
    change: 'Change this rule',
    paste: 'Paste rules',
    history: 'History',
    save: 'Save as a file',
    suggestions: 'Suggestions',
    undo: 'Undo the last change',
    undoThis: 'Undo this change',
    apply: 'Apply',
    drop: 'Drop it',
  },
  allLifts: 'All lifts',
  rule: ruleSaid,
  severities,
  list: {
    head: ({ version, author, atMs, lift, clips, readable }) =>
      `**Rules for ${liftOf(lift)}**, version ${version} by ${author}, ${when(atMs)}.\n` +
      (readable === 0
        ? 'No clips are kept yet, so there are no shares.'
        : `Shares are of ${lift === null ? `the last ${clipsOf(clips)}` : `${clipsOf(clips)} of this lift among the last ${readable}`}.`),
    line: listLine,
    choose: 'Look at a rule',
  },
  detail: {
    head: (rule, docs) => `${ruleSaid(rule)}\n${docs}`,
    line: (lift, rule) => {
      const { clips, stops, advises } = rule.share;
      const share = clips === 0 ? 'no clips' : `stops ${stops} of ${clipsOf(clips)}, advice to ${advises}`;
      return `**${lift === null ? 'All lifts' : liftNames[lift]}**: ${severityOf(rule)} · ${share}\n  ${optionsOf(rule) || 'no options'}`;
    },
    text: (lift, message, text) => `Own words for ${message}, ${liftOf(lift)}: “${text}”`,
    overruled: ({ stops, overruled, byCoach }) =>
      `Of ${clipsOf(stops)} that it stops, ${overruled} were appealed or used all the same (${byCoach} by a coach's word).`,
  },
  changeForm: {
    title: (rule) => `Change ${rule}`,
    lift: 'For which lift',
    severity: 'What it does',
    option: 'Which number or list',
    optionHint: 'Only if a number or a list is to change.',
    value: 'Its new value',
    valueHint: 'As in the rules file: 0.8 or [1.5, 1.8]. Empty: back to what is built in.',
  },
  pasteForm: {
    title: 'Paste rules',
    how: 'What it is',
    part: 'Some rules; the others stay as they are',
    whole: 'The whole rules file',
    text: 'Rules, as in the file',
    textHint: 'Nothing changes until you have seen what it would do. A long file: paste it in parts.',
  },
  reasonForm: {
    applyTitle: 'Apply the change',
    undoTitle: 'Undo the change',
    reason: 'Why',
    hint: 'Everybody who looks at the history sees this.',
  },
  unknownRule: 'I know no such rule. Please ask for the rules again.',
  nothingChosen: 'Nothing to change was chosen: pick what the rule does, or one of its numbers with a value.',
  unknownVersion: 'I have no such version of the rules.',
  notUnderstood: (problems) =>
    [
      'These rules cannot be used, and nothing was changed:',
      ...problems.slice(0, 8).map(({ path, problem, fix }) => {
        const end = /[.?!]$/.test(fix) ? '' : '.';
        return `· ${path === '' ? '' : `${path}: `}${problem}. ${fix}${end}`;
      }),
      ...(problems.length > 8 ? [`· and ${problems.length - 8} more`] : []),
    ].join('\n'),
  sameAlready: 'The rules say that already: nothing would change.',
  difference,
  moreDifferences: (n) => `and ${count(n, 'more change')}`,
  proposal: {
    head: (version) => `**What would change** from version ${version}:`,
    gone: 'This change was applied or dropped already.',
    stale: (version, author) =>
      `The rules have changed since this was proposed (version ${version} by ${author}). Please make the change again, to see what it would do now.`,
    noReason: 'Please say why, in a few words.',
    applied: (version) => `Done: version ${version} is in force. Clips are judged by it from now on.`,
    dropped: 'Dropped. The rules stay as they are.',
  },
  effect,
  announced: ({ who, reason, what }) => [`**${who} changed the rules**: ${reason}`, ...what.map((one) => `· ${one}`)].join('\n'),
  undone: (version) => `Done: the rules are again as they were before, as version ${version}.`,
  undoReason: (version, reason) => `version ${version} undone. ${reason}`,
  undoStale: (version, author) =>
    `I undid nothing: the rules have changed since. Version ${version} by ${author} is in force now; the history shows what changed when.`,
  nothingToUndo: 'There is no earlier version to go back to.',
  history: {
    head: '**History of the rules**, the newest first',
    line: ({ version, author, atMs, reason, what }) =>
      [`**${version}** ${author}, ${when(atMs)}${reason === '' ? '' : `: ${reason}`}`, ...what.map((one) => `· ${one}`)].join(
        '\n',
      ),
    putBack: 'Look at going back to',
    option: (version, author, atMs) => `${version}, ${author}, ${when(atMs)}`,
  },
  saved: (version) => `The rules, version ${version}. It can be pasted back, or stand as config/rules.yaml.`,
  suggestions: {
    none: (clips, known) =>
      known === 0
        ? `Nothing to suggest: nobody has said of any of the last ${clipsOf(clips)} whether it can be used.`
        : `Nothing to suggest: people have said of ${known} of the last ${clipsOf(clips)} whether they can be used, and the rules were seldom wrong about those.`,
    head: (clips, known) =>
      `**Suggestions** from the last ${clipsOf(clips)}. People have said of ${known} of them whether they can be used; a clip that was sent back without a word does not show that this was right.`,
    overruled: ({ rule, stops, overruled, byCoach }) =>
      `${ruleSaid(rule)} stops ${clipsOf(stops)}; ${overruled} of them were appealed or used all the same (${byCoach} by a coach's word).`,
    change: ({ difference: one, mended, spoilt, silent }) =>
      [
        `${difference(one)}. It rests on ${clipsOf(mended + spoilt)}: ${mended} put right that are judged wrong now, ${spoilt} made wrong.`,
        ...(silent === 0 ? [] : [`${clipsOf(silent)} more, of which nobody has said anything, would be judged differently too.`]),
      ].join(' '),
    try: 'See what a suggestion would do',
    option: ({ rule, lifts, setting, to }) =>
      `${rule}${lifts === 'all' ? '' : `, ${lifts.map((lift) => liftOf(lift)).join(', ')}`}: ${setting === 'severity' ? '' : `${setting} `}${settingValue(setting, to)}`,
  },
  week: weekReport,
  noClips: 'No clips were judged here in these seven days.',
};

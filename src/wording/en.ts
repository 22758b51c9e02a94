import type { Moment } from '../facts/facts.ts';
import { coachWords } from './en-coach.ts';
import { deskWords } from './en-desk.ts';
import { memberWords } from './en-member.ts';
import { messages } from './en-messages.ts';
import { moderatorWords } from './en-moderator.ts';
import { heightOf, heights, liftName, lifts, moment, partOf, parts, place, viewFrom } from './en-names.ts';
import { capital, count, list, seconds, timesOf } from './en-phrases.ts';
import { pictures } from './en-pictures.ts';
import { errors, reasons, reasonsForCoaches } from './en-reasons.ts';
import { recordWords } from './en-record.ts';
import { ruleNames, ruleNamesForCoaches } from './en-rule-names.ts';
import type { Language } from './language.ts';
import { clock, roundTo } from './numbers.ts';

const nameAndReason = (items: { names: string[]; reason: string }[]) =>
  items.map(({ names, reason }) => `${list(names)} (${reason})`).join('; ');

/** English. */
export const en: Language = {
  coach: coachWords,
  desk: deskWords,
  member: memberWords,
  moderator: moderatorWords,
  record: recordWords,
  messages,
  ruleNames,
  reasons,
  forCoaches: { ruleNames: ruleNamesForCoaches, reasons: reasonsForCoaches },
  errors,
  lifts,
  parts,
  moment,
  heights,
  place,
  view: viewFrom,
  value(name, value, lift) {
    if (typeof value === 'number') return String(roundTo(value, Number.isInteger(value) ? 1 : 0.1));
    if (name === 'parts') return list(value.split(',').map(partOf));
    if (name === 'part') return partOf(value);
    if (name === 'moment') return moment(value as Moment, lift);
    if (name === 'heightClass') return heightOf(value);
    if (name === 'captioned' || name === 'measured') return liftName(value);
    return name.endsWith('Class') ? value.replace('-', ' ') : value;
  },
  list,
  reply: {
    fixHead: (n) =>
      n === 1
        ? '**One thing about the filming to change, then this goes to a coach.**'
        : `**${n === 2 ? 'Two' : 'Three'} things about the filming to change, then this goes to a coach.**`,
    fixMore: (n) => `${n} more can wait until these are right.`,
    cleanHead: '**Well filmed. This clip goes on to the coaches.**',
    trimHead: (before, after) =>
      `**Well filmed. I cut off the waiting, ${before > 0.5 && after > 0.5 ? `${seconds(before)} before and ${seconds(after)} after the lift` : before > 0.5 ? `${seconds(before)} before the lift` : `${seconds(after)} after the lift`}, and the clip goes on to the coaches.**`,
    trimNote: (attached) =>
      attached
        ? 'The short clip is attached. Next time you can trim it like this yourself.'
        : 'Next time you can trim it to the lift yourself, with a second or two to spare.',
    unsureHead: '**Nothing to change that I can see. The clip goes on to the coaches, with a note on what I could not tell.**',
    couldNotTell: (items) => `I could not check: ${nameAndReason(items)}.`,
    correction: (at, text) => `**${at}.** ${text}`,
    optional: (text) => `**If you like:** ${text}`,
    sides: (lift) =>
      lift === 'bench'
        ? '(Left and right are your own, as you lie on the bench.)'
        : '(Left and right are your own, as you stand to lift.)',
    seen({ lift, reps, window, place: at }) {
      const facts = [
        lift === null ? null : lifts[lift],
        reps === null ? null : count(reps, 'rep'),
        window && timesOf(window),
        at && viewFrom(at, lift),
      ];
      const told = facts.filter((fact) => fact);
      return told.length === 0 ? '' : `Seen: ${told.join(', ')}.`;
    },
    filmingOnly: 'I look at the filming only; your coach looks at the lift.',
    cautions:
      'Good to know: keep safeties and spotter arms in place, even where they hide something. Stop if something hurts. Filming tips are no coaching and no medical advice. The rules of your gym on filming others come first.',
  },
  card: {
    title: ({ name, lift, loadText, reps }) =>
      `**${[name, [capital(lift === null ? 'lift not told' : lifts[lift]), loadText, reps === null ? null : `x ${reps}`].filter((part) => part).join(' ')].filter((part) => part).join(': ')}**`,
    load: (kg, unit) =>
      unit === 'kg' ? `${roundTo(kg, 0.5)} kg` : `${roundTo(kg / 0.45359237, 0.5)} lb (${roundTo(kg, 0.5)} kg)`,
    view: (view, degrees) =>
      view === null
        ? 'View: could not be told'
        : `View: ${view}${degrees === null ? '' : ` (about ${degrees} degrees off the front)`}`,
    reps: (times) =>
      `Reps: ${times.map(({ startS, endS }, i) => `${i + 1} at ${clock(startS)} (${roundTo(endS - startS, 0.1)} s)`).join(', ')}`,
    repsUnknown: 'Reps: could not be told',
    asked: (question) => `Asked: ${question}`,
    unsure: (items) => `Could not be told: ${nameAndReason(items)}.`,
    thread: (url) => `Thread: ${url}`,
  },
  chat: {
    uploadInstead: 'I can only check a clip that is posted here as a file. Please upload the video itself.',
    waiting({ ahead, percent }) {
      if (percent !== null)
        return percent < 1 ? 'I am looking at your clip now.' : `I am looking at your clip: ${percent} % done.`;
      if (ahead === null) return 'Your clip is here. I will look at it in a moment.';
      return ahead === 0 ? 'Your clip is next.' : `Your clip is in line, ${count(ahead, 'clip')} before it.`;
    },
  },
  progress: {
    fixed: (names) => `Fixed since the last take: ${list(names)}.`,
    better: (names) => `Better than last time: ${list(names)}.`,
    nearer: (name) => `${name} (closer than last time)`,
    unknown: (names) => `I could not tell this time: ${list(names)}.`,
    left: (names) => `Still to do: ${list(names)}.`,
    fresh: (names) => `New this time: ${list(names)}.`,
    allFixed: 'Everything from the last take is fixed. Thank you.',
  },
  pictures,
};

import type { LiftId } from '../facts/facts.ts';
import type { RequestedView } from '../rules/request.ts';
import type { CoachWords, RequestLeft } from './coach-words.ts';
import { count, list } from './en-phrases.ts';
import { requested as views } from './en-requested.ts';
import { feet, roundTo } from './numbers.ts';

const months = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];
const linked = (url: string | null) => (url === null ? '' : `\nThread: ${url}`);

const closeUp = 'Film close up where the bar sits. Somebody may hold the phone for this; near and a little shaky is fine.';
const setup =
  'Start filming before you go to the bar and leave the start in: your coach wants to see the setup, so do not trim it.';
const standing: Record<RequestedView, string> = {
  front: 'Put the phone straight in front of you.',
  'front-quarter': 'Put the phone in front of you, about half way round to one side.',
  side: 'Put the phone square to one side of you.',
  'rear-quarter': 'Put the phone behind you, about half way round to one side.',
  rear: 'Put the phone straight behind you.',
  'bar-close-up': closeUp,
  'setup-and-walk-out': setup,
};
const lying: Record<RequestedView, string> = {
  ...standing,
  front: 'Put the phone at the foot end, straight between your feet.',
  'front-quarter': 'Put the phone at the foot end, about half way round to one side.',
  'rear-quarter': 'Put the phone at the head end, about half way round to one side.',
  rear: 'Put the phone straight behind your head.',
};
const howTo = (view: RequestedView, lift: LiftId) => (lift === 'bench' ? lying : standing)[view];

function lasts(left: RequestLeft, liftName: string): string {
  if (left === null) return `I look at your ${liftName} clips this way until your coach says otherwise.`;
  if ('until' in left) return `I look at your ${liftName} clips this way up to ${left.until}; then the usual rules count again.`;
  const clips = left.clips === 1 ? `your next ${liftName} clip` : `your next ${left.clips} ${liftName} clips`;
  return `I look at ${clips} this way; then the usual rules count again.`;
}

function stillLasts(left: RequestLeft, passed: boolean): string {
  if (left === null) return '';
  if ('until' in left) return `This goes on up to ${left.until}.`;
  if (left.clips > 0) return `${count(left.clips, 'more clip')} like this, please.`;
  return passed ? 'That was what your coach asked for; from the next clip on the usual rules count.' : '';
}

const verdicts = { clean: 'well filmed', fix: 'sent back', unsure: 'passed on, not sure' } as const;

const time = (ms: number) => {
  const minutes = Math.max(0, Math.round(ms / 60_000));
  if (minutes < 1) return 'under a minute';
  if (minutes < 90) return count(minutes, 'minute');
  return minutes < 48 * 60 ? count(Math.round(minutes / 60), 'hour') : count(Math.round(minutes / 1440), 'day');
};

/** One sentence for each rule that a coach may name: what was not right, and what to do. */
const corrections: CoachWords['corrections'] = {
  'lifter-present': () =>
    'You could not be seen well enough. Point the phone so that all of you is in the picture, head to feet, before you start.',
  orientation: () => "The clip does not play the right way up. Turn it in your phone's editor and post it again.",
  cuts: () => 'There is a cut in the clip. Post the whole set in one piece.',
  'lift-in-clip': () =>
    'The set is not all in the clip. Start 2 or 3 seconds before the first rep and stop 2 or 3 seconds after the last.',
  view: ({ place }) =>
    `From where the phone stood, your coach could not see what matters. ${place === null ? 'Ask me how to film this lift, and put it there.' : `Put it ${place}.`}`,
  'parts-in-frame': () =>
    'Part of you or of the bar left the picture. Move the phone a step or two back, so that all fits in through the whole lift.',
  obstruction: () =>
    'Something was in front of you. Move the phone until nothing stands between. Leave safeties and spotter arms where they are.',
  'camera-height': ({ height }) =>
    `The phone was too low or too high. ${height === null ? 'Ask me how to film this lift, and try that height.' : `Put it ${height} above the floor.`}`,
  distance: ({ distance }) =>
    `The phone was too near or too far away. ${distance === null ? 'Ask me how to film this lift, and try that distance.' : `Put it ${distance} away.`}`,
  'lifter-size': () =>
    'You are too small or too large in the picture. Move the phone until you fill much of its height and still fit in all the way.',
  light: () => 'The light was not good enough. Turn on more lights, and keep windows and lamps behind the phone, not behind you.',
  steadiness: () => 'The picture moved too much. Put the phone on a tripod and leave it there for the whole set.',
  'dead-time': () => 'There was too much waiting in the clip. Trim it to the lift, with a second or two to spare.',
  'one-set': () => 'There is more than one set in the clip. Post one set in each clip.',
  'playback-speed': () => 'The clip does not play at normal speed. Film it and post it at normal speed.',
  'one-lifter': () => 'It was hard to see who lifts. Ask the others to stand out of the picture, except your spotters.',
  'lift-known': () => 'It was not clear which lift this is. Name it in the caption, for example: squat 100 kg x 3.',
  'as-captioned': () => 'Caption and clip do not go together. Check the lift and the reps, and post it again.',
  'clip-length': () =>
    'The clip is too long or too short for the set. Start 2 or 3 seconds before the first rep and stop 2 or 3 seconds after the last.',
  sharpness: () => 'The picture was blurred. Wipe the lens, then tap on yourself on the screen to focus.',
  resolution: () => 'The picture is too coarse to see much. Post the original file, or film at 720p or 1080p.',
  'frame-rate': () => "The clip has too few pictures a second. Choose 30 in your camera's settings.",
  'picture-shape': () => 'The phone was held the wrong way for this lift. Turn it, so that you fill more of the picture.',
};

/** English for coaches, and for members in a coach's name. */
export const coachWords: CoachWords = {
  buttons: {
    take: 'Take',
    handBack: 'Hand back',
    done: 'Done',
    unusable: 'Filming is not usable',
    askView: 'Ask for another view',
    endRequest: 'No other view after all',
    takeNumber: (n) => `Take ${n}`,
    doneNumber: (n) => `Done ${n}`,
  },
  waitingCommand: 'For coaches: the clips that wait, oldest first',
  day(date) {
    const [year = '', month = '', day = ''] = date.split('-');
    return `${Number(day)} ${months[Number(month) - 1] ?? month} ${year}`;
  },
  time,
  views,
  card: {
    taken: (coach) => `**With ${coach}.**`,
    done: (coach) => `**Done by ${coach}.**`,
    unusable: (coach, what, note) => `**Sent back by ${coach}: ${what}.**${note === '' ? '' : ` ${note}`}`,
    byRequest: ({ coach, view, note }) => `${coach} asked for it ${views[view]}${note === '' ? '' : `: ${note}`}`,
    earlier: ({ day, loadText, verdict, url }) =>
      `Earlier: ${[day, loadText, verdicts[verdict]].filter((part) => part !== null).join(', ')}${url === null ? '' : ` ${url}`}`,
  },
  told: {
    taken: (title, url) => `It is yours now: **${title}**${linked(url)}`,
    yoursAlready: 'You have this one already.',
    takenBy: (coach) => `${coach} has this one already.`,
    notTaken: 'Nobody has taken this one yet. Take it first.',
    notYours: (coach) => `${coach} has this one. Only ${coach} or a moderator can hand it back.`,
    handedBack: 'It waits for a coach again.',
    done: (member, newerTake) =>
      newerTake
        ? `Done. ${member} has posted a newer take of this set, so the mark on the posts is the one for that take.`
        : `Done. ${member}'s post has the mark for it.`,
    over: (coach, state) => (state === 'done' ? `${coach} is done with this one.` : `${coach} has sent this one back.`),
    gone: 'I know nothing of this clip any more.',
    unusable: (member, missed) =>
      `I told ${member} in their thread what to change.${missed ? ' I keep it as something that I missed.' : ''}`,
    asked: (member) => `I told ${member} in their thread.`,
    badReason: 'That is none of the reasons I know. Please choose one from the list.',
    badEnd: 'I could not read that day, or it is over. Please write it like 2026-12-24.',
    badLift: 'I could not tell which lift this clip shows. Please choose the lift.',
    requestEnded: 'I took that back and told the member. The usual rules count again.',
    requestOver: 'That is over already.',
  },
  list: {
    nothing: 'No clip waits for a coach.',
    yours: (n) => `**You have ${count(n, 'clip')}:**`,
    waiting: (n) => `**${count(n, 'clip')} ${n === 1 ? 'waits' : 'wait'}, the oldest first:**`,
    line: ({ number, title, waitMs, url }) => `${number}. ${title}, here for ${time(waitMs)}${url === null ? '' : ` ${url}`}`,
    with: (coach, clips) => `${coach} has ${count(clips, 'clip')}.`,
    more: (n) => `${n} more after these.`,
  },
  unusableForm: {
    title: 'Not usable',
    reason: 'What is not good enough?',
    reasonHint: 'The member is told how to do better.',
    note: 'A note to the member',
    noteHint: 'If you like, one or two sentences.',
  },
  askForm: {
    title: 'Another view',
    lift: 'Lift',
    liftHint: (lift) => (lift === null ? 'Which lift?' : `Leave it open for the ${lift}.`),
    view: 'What do you want to see?',
    viewHint: 'The next clips of this lift are judged by it.',
    lasts: 'For how long?',
    lastsHint: 'Left open, it is the next clip. Only clips that pass count.',
    clips: (n) => (n === 1 ? 'The next clip' : `The next ${n} clips`),
    until: 'Or up to a day',
    untilHint: (date) => `Like ${date}; then the number of clips does not count.`,
    note: 'A note to the member',
    noteHint: 'What to show, in a sentence or two.',
  },
  sentBack: ({ coach, correction, note }) =>
    [
      '**One thing about the filming to change after all, so that a coach can use it.**',
      correction,
      ...(note === '' ? [] : [`**${coach}:** ${note}`]),
      `${coach} looked at it and could not see enough. This is about the filming, not about your lift. Please post a new clip in this thread.`,
    ].join('\n'),
  corrections,
  metres: ([from, to]) => `${roundTo(from, 0.1)}–${roundTo(to, 0.1)} m (${feet(from)}–${feet(to)} ft)`,
  asks: ({ coach, lift, liftName, view, note, left }) =>
    [
      `**${coach} would like to see your ${liftName} ${views[view]}.**`,
      howTo(view, lift),
      ...(note === '' ? [] : [`**${coach}:** ${note}`]),
      lasts(left, liftName),
      'Leave safeties and spotter arms where they are.',
    ].join('\n'),
  takesBack: (coach, liftName) => `${coach} needs no other view of your ${liftName} any more. Film it as usual.`,
  judgedBy: ({ coach, liftName, view, left, passed }) =>
    [`I looked at this clip the way ${coach} asked for: ${liftName}, ${views[view]}.`, stillLasts(left, passed)]
      .filter((part) => part !== '')
      .join(' '),
  digest: ({ waiting, longestMs, taken, medianWaitMs, done, served, unusable, corrections: top }) =>
    [
      '**The desk in the last 24 hours**',
      waiting === 0
        ? 'No clip waits.'
        : `${count(waiting, 'clip')} ${waiting === 1 ? 'waits' : 'wait'}${longestMs === null ? '' : `, the oldest for ${time(longestMs)}`}.`,
      ...(taken.length === 0 ? [] : [`Taken: ${list(taken.map(({ coach, clips }) => `${coach} ${clips}`))}.`]),
      medianWaitMs === null
        ? 'No clip was taken.'
        : `Half of the clips that were taken had waited ${time(medianWaitMs)} or less.`,
      ...(done.length === 0 ? [] : [`Done: ${list(done.map(({ coach, clips }) => `${coach} ${clips}`))}.`]),
      ...(served.length === 0
        ? []
        : [`For: ${list(served.map(({ member, clips }) => (clips === 1 ? member : `${member} (${clips})`)))}.`]),
      ...(unusable === 0 ? [] : [`${count(unusable, 'clip')} passed and ${unusable === 1 ? 'was' : 'were'} not usable.`]),
      ...(top.length === 0
        ? ['No clip was sent back.']
        : [`Sent back most often for ${list(top.map(({ what, clips }) => `${what} (${clips})`))}.`]),
    ].join('\n'),
};

import { list, count as many } from './en-phrases.ts';
import { requested } from './en-requested.ts';
import type { AskedView, MemberWords } from './member-words.ts';

const day = (ms: number) => new Date(ms).toISOString().slice(0, 10);
const tall = (cm: number) => {
  const inches = Math.round(cm / 2.54);
  return `${cm} cm (${Math.floor(inches / 12)} ft ${inches % 12} in)`;
};
const times = (n: number) => (n === 1 ? 'one clip' : `${n} clips`);
const askedFor = ({ view, note, clipsLeft, untilMs, byName }: AskedView) => {
  const howLong = [
    clipsLeft === null ? null : clipsLeft === 1 ? 'for your next clip' : `for your next ${clipsLeft} clips`,
    untilMs === null ? null : `until ${day(untilMs)}`,
  ].filter((part) => part !== null);
  const said = note === '' ? '' : ` ${byName} says: ${note}`;
  return `${requested[view] ?? view}${howLong.length === 0 ? '' : ` (${howLong.join(', ')})`}.${said}`;
};

/** English. */
export const memberWords: MemberWords = {
  film: {
    description: 'Shows how to film a lift: where the phone stands, how high, how far away.',
    lift: 'Lift',
    which: 'Which lift would you like to film?',
    guide: ({ lift, places, away, high, see, sideMatters }) =>
      [
        `**How to film the ${lift}**`,
        `**Place:** ${places}${sideMatters ? ' Left or right, whichever side has a clear view of you.' : ''}`,
        `**Distance:** ${away} from the phone to you. One big step is a bit less than a metre (3 ft).`,
        `**Height:** ${high} above the floor.`,
        '**Tripod:** Put the phone on a tripod. A phone on the floor, leaned on something or held by hand gives a poor picture.',
        `**Picture:** ${see} Keep a little room around you, and nothing between the phone and you but your safeties.`,
        '**Try it:** Film one rep with the empty bar, look at the clip, move the phone if something is missing, then film your set.',
        '**Trim:** One set a clip. Let it start two or three seconds before the first rep and end two or three after the last.',
      ].join('\n'),
    asked: (request) =>
      `**Your coach asked to see this lift** ${askedFor(request)} Where that differs from what stands below, do what your coach asked.`,
    askedOther: (request) => `**Your coach asked to see your ${request.lift}** ${askedFor(request)}`,
  },
  buttons: {
    useTrimmed: 'Use the trimmed clip',
    useUpright: 'Use the clip turned upright',
    askedView: 'My coach asked for this view',
    appeal: 'Send it to a coach anyway',
  },
  appealForm: {
    title: 'Send it to a coach anyway',
    which: 'Which of my corrections is wrong?',
    all: 'All of them',
    why: 'Why should a coach see this clip as it is?',
    hint: 'One or two sentences. The coach reads them, and they help to set me right.',
  },
  passing: {
    unknownClip: 'I do not know this clip any more. Please post it again.',
    notYours: 'Only the person who posted this clip can do that.',
    there: 'This clip is with the coaches already.',
    notSentBack: 'There is nothing to send on here.',
    clipGone:
      'I keep clips for a short time only, and this one is gone. Please post it again; my next answer has the same buttons.',
    notCured: 'Cutting the clip is not enough here. Please film it again as the reply says.',
    notAboutView:
      'My corrections to this clip are not about where the phone stood. You can still send it to a coach with a reason.',
    noReason: 'Please say in a sentence why a coach should see this clip as it is.',
    appealsUsedUp: (most) =>
      `You have sent on ${times(most)} in the last seven days, and that is as much as I may pass on. Please film it again as the reply says, or ask a coach in person.`,
    askedUsedUp: (most) =>
      `You have said ${most === 1 ? 'once' : `${most} times`} in the last seven days that a coach asked for the view, and that is as often as I may take it. Please ask your coach to enter the view with me; then I go by it.`,
    passed: 'Thank you. The clip goes to the coaches now.',
    replyNote: 'Sent on to the coaches as you wished.',
  },
  height: {
    description: 'Sets how tall you are, so that bar speeds are scaled to you.',
    field: 'Your height, like 178 cm or 5 ft 10; "off" takes it back',
    notSet:
      'Your height is not set; bar speeds are those of a lifter of average height. Set it with this command, like 178 cm or 5 ft 10.',
    isSet: (cm) => `Your height is set to ${tall(cm)}.`,
    saved: (cm) => `Your height is ${tall(cm)}. From now on I scale bar speeds by it, those of your earlier clips too.`,
    cleared: 'Your height is no longer kept. Bar speeds are those of a lifter of average height again.',
    notUnderstood: 'I could not read that as a height. Please write it like 178 cm, 1.78 m, 5 ft 10 or 70 in.',
    off: ['off', 'none', 'delete'],
  },
  history: {
    description: 'Shows you your own clips: takes, corrections, rep times and bar speed.',
    lift: 'Lift',
    nothing: (lift) => `I know no ${lift === null ? 'clip' : `clip of a ${lift}`} of yours yet.`,
    takes: ({ lift, takes, count, clean }) =>
      `**Your ${lift === null ? 'clips' : `${lift} clips`}:** ${many(takes, 'take')}. ${
        count === 0 ? '' : `Clean at the first take: ${clean} of ${count} (${Math.round((100 * clean) / count)} %).`
      }`.trim(),
    corrections: (most) =>
      most.length === 0
        ? 'Nothing was sent back to you.'
        : `Sent back most for: ${most.map(({ name, clips }) => `${name} (${many(clips, 'clip')})`).join(', ')}.`,
    setsHead: (shown, all) =>
      shown === all
        ? '**Sets that went to the coaches, the newest first:**'
        : `**The newest ${shown} of ${all} sets that went to the coaches:**`,
    set: ({ day, lift, loadText, repTimesS, speed }) =>
      `**${day}, ${[lift, loadText].filter((part) => part !== null).join(' ')} x ${repTimesS.length}:** ${
        repTimesS.length === 0 ? '' : `rep times ${repTimesS.map((s) => s.toFixed(1)).join(', ')} s. `
      }${speed}`,
    compared: (day, lift, text) => `The ${lift} of ${day}: ${text}`,
    setHeight: 'Tell me your height with the command my-height, and bar speeds are scaled to you.',
  },
  forget: {
    description: 'Deletes all that I keep of you: clips, measurements, answers, your height.',
    ask: (clips) =>
      [
        `**Delete all that I keep of you?** That is ${clips === 0 ? 'no clip' : times(clips)} with measurements, captions and corrections, what coaches and you said about them, your coach's requests and your height. I also remove my answers, marks and the cards that coaches see.`,
        'It cannot be undone. Your own messages stay; only you can delete those. Reports that were already posted for coaches and moderators stay, and may name you.',
      ].join('\n'),
    confirm: 'Delete it all',
    nothing: 'I keep nothing of you.',
    done: (clips) =>
      `Done. ${clips === 0 ? 'What I kept' : `What I kept of you and your ${times(clips)}`} is deleted. My answers and marks go away in a moment; where a platform does not let me remove one, it stays. A clip that you post from now on starts anew.`,
    someone: 'a member',
  },
  cardNote({ kind, reason, corrections }) {
    const back = `I had sent it back for: ${list(corrections)}.`;
    if (kind === 'appeal') return `**The member sent this on.** ${back} The reason: ${reason}`;
    if (kind === 'asked-view') return `**The member says that a coach asked for this view.** ${back}`;
    return `The member took my cut of the clip. ${back}`;
  },
};

import { requested } from './en-requested.ts';
import type { AskedView, MemberWords } from './member-words.ts';

const day = (ms: number) => new Date(ms).toISOString().slice(0, 10);
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
};

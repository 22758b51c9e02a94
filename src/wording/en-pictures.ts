import { eitherSide, heights, lifts, partOf, place } from './en-names.ts';
import { capital, count, list, metres, metresRange } from './en-phrases.ts';
import type { PictureWords } from './language.ts';
import { clock, feet, roundTo } from './numbers.ts';

/** Keeps a number and its unit on one line of a picture. */
const unbroken = (text: string) => text.replace(/(\d) (m|ft)\b/g, '$1\u00a0$2');

/** Words of the pictures, in English. */
export const pictures: PictureWords = {
  now: 'now',
  want: 'here',
  front: 'front',
  feetEnd: 'feet',
  headEnd: 'head',
  left: 'left',
  right: 'right',
  height: 'Height',
  fromAbove: 'From above',
  nowLine: ({ place: at, height, distanceM, lift }) => {
    const away = distanceM === null ? null : `${metres(distanceM)} away`;
    return unbroken(capital([at && place(at, lift), height && heights[height], away].filter((part) => part).join(', ')));
  },
  wantLine: ({ place: at, heightM, distanceM, lift }) =>
    unbroken(
      `${capital(place(at, lift))}, ${roundTo(heightM[0], 0.1)}–${roundTo(heightM[1], 0.1)} m (${feet(heightM[0])}–${feet(heightM[1])} ft) high, ${metresRange(...distanceM)} away`,
    ),
  distance: ([from, to]) => `${roundTo(from, 0.1)}–${roundTo(to, 0.1)} m`,
  heightRange: ([from, to]) => metresRange(from, to),
  placementAlt: (now, want, turnDeg) =>
    [
      "Drawing of the phone's place, seen from above.",
      now ? `Now: ${now}.` : 'Where it was could not be told.',
      want ? `Wanted: ${want}.` : '',
      turnDeg === null ? '' : `The walk from one to the other is about ${turnDeg} degrees round you.`,
    ]
      .filter((part) => part)
      .join(' '),
  noPlace: 'Where the phone stood could not be told',
  timelineTitle: ({ durationS, reps, kept }) =>
    [
      `${clock(durationS)} long`,
      reps === null ? null : count(reps, 'rep'),
      kept && `kept ${clock(kept.startS)}–${clock(kept.endS)}`,
    ]
      .filter((part) => part)
      .join(' · '),
  timelineAlt: ({ durationS, reps, kept }) =>
    [
      `Timeline of the clip, ${clock(durationS)} long.`,
      reps === null
        ? 'The reps could not be told.'
        : reps.length === 0
          ? 'No rep found.'
          : `${count(reps.length, 'rep')}: ${reps.map((rep, i) => `${i + 1} at ${clock(rep.startS)}–${clock(rep.endS)}`).join(', ')}.`,
      kept ? `Kept is ${clock(kept.startS)} to ${clock(kept.endS)}; the rest is cut.` : '',
    ]
      .filter((part) => part)
      .join(' '),
  cut: 'cut off',
  dead: 'waiting',
  stillLabel: (at, lift) =>
    at === 'start' ? 'start' : at === 'lockout' ? 'lockout' : lift === 'press' || lift === 'deadlift' ? 'top' : 'bottom',
  sheetAlt: (lift, reps, stills) =>
    `${count(stills, 'still')} of ${lift === null ? 'the lift' : lifts[lift]}, ${count(reps, 'rep')}, in order.`,
  guidePlaces: (places, lift) =>
    `Best: ${eitherSide(places[0]!, lift)}.${
      places.length > 1
        ? ` Also good: ${places
            .slice(1)
            .map((at) => eitherSide(at, lift))
            .join(', or ')}.`
        : ''
    }`,
  guideTitle: (lift) => `How to film the ${lifts[lift]}`,
  guideSee: (ids) => `In the picture all the time: ${list(ids.map(partOf))}.`,
  guideTips: ['Tripod, not leaned on something.', 'Nothing in front. Safeties stay in place.', 'Trim to the lift.'],
  guideAlt: ({ lift, places, heightM, distanceM, see }) =>
    `Drawing of how to film the ${lifts[lift]}: the phone stands ${places.map((at) => eitherSide(at, lift)).join(', or ')}, ${metresRange(...heightM)} above the floor, ${metresRange(...distanceM)} away. ${pictures.guideSee(see)} ${pictures.guideTips.join(' ')}`,
};

import type { LiftId, Moment } from '../facts/facts.ts';
import { type Place, placeOf, walkBetween } from './directions.ts';
import { heightOf, liftName, moment, partOf, place } from './en-names.ts';
import { capital, count, list, metres, metresRange, seconds } from './en-phrases.ts';
import { requested } from './en-requested.ts';
import type { About, Language } from './language.ts';
import { clock, roundTo, steps, stepsToReach } from './numbers.ts';
import type { Said } from './template.ts';

const ways = {
  standing: {
    'to-front': 'further to the front',
    'to-rear': 'further back',
    'to-left': 'round to your left',
    'to-right': 'round to your right',
    'across-front': 'round in front of you',
    'across-rear': 'round behind you',
  },
  lying: {
    'to-front': 'towards your feet',
    'to-rear': 'towards your head',
    'to-left': 'round to your left',
    'to-right': 'round to your right',
    'across-front': 'round past your feet',
    'across-rear': 'round behind your head',
  },
} as const;

const stepsOf = (m: number, whole = steps(m)) => (whole === 1 ? 'one step' : `about ${whole} steps`);
const aLift = (id: string) => (id === 'other' ? 'another lift' : `a ${liftName(id)}`);
/** Heights in m at which one word gives way to the next, on a standing grown-up; common practice. */
const heightWord = (from: number, to: number) => {
  const middle = (from + to) / 2;
  if (middle < 0.7) return 'about knee height';
  if (middle < 1.1) return 'about waist height';
  if (middle < 1.45) return 'about chest height';
  return middle < 1.9 ? 'about head height' : 'above head height';
};
const safeties = 'Leave safeties and spotter arms where they are.';

/** Where the phone was. `offDeg` counts from straight ahead, or from straight behind for the rear. */
function seenAt(at: Place, offDeg: number, side: 'left' | 'right', lift: LiftId | null): string {
  const spot = place(at, lift);
  if (at === 'front' || at === 'rear')
    return offDeg <= 10 ? spot : `nearly ${spot}, about ${roundTo(offDeg, 5)} degrees to your ${side}`;
  const nearly = (at === 'left' || at === 'right') && Math.abs(offDeg - 90) > 10 ? 'nearly ' : '';
  return `${nearly}${spot}, about ${roundTo(offDeg, 5)} degrees round from ${lift === 'bench' ? 'your feet' : 'straight ahead'}`;
}

/** Where the phone was and how to walk it, in the lifter's own left and right. */
function walk(said: Said, about: About): string {
  const now = said.num('azimuthDeg');
  const wanted = said.num('wantedDeg');
  const { turnDeg, way } = walkBetween(now, wanted);
  const at = placeOf(now);
  const off = at === 'rear' ? 180 - Math.abs(now) : Math.abs(now);
  const seen = seenAt(at, off, now > 0 ? 'left' : 'right', about.lift);
  const from = about.toDistanceM ?? about.distanceM;
  const once = about.toDistanceM === null ? '' : ` when ${roundTo(about.toDistanceM, 0.1)} m away`;
  const arc = from === null ? '' : ` (${count(steps((from * turnDeg * Math.PI) / 180), 'step')}${once})`;
  const words = ways[about.lift === 'bench' ? 'lying' : 'standing'][way];
  return `The phone was ${seen}. Walk it about ${Math.max(5, roundTo(turnDeg, 5))} degrees${arc} ${words}, until it is ${place(placeOf(wanted), about.lift)}.`;
}

/** How to bring parts back into the picture: low parts by tilting down, high ones by tilting up, several by stepping back. */
function keepIn(ids: readonly string[], at: string): string {
  const low = ids.every((id) => ['feet', 'knees'].includes(id));
  const high = ids.every((id) => ['head', 'hands', 'bar', 'elbows'].includes(id)) && at === 'lockout';
  if (low) return 'Tilt the phone down a little, or move it a step or two back.';
  if (high) return 'Tilt the phone up a little, or move it a step or two back.';
  return 'Move the phone a step or two back, so that all of you fits with room to spare.';
}

const ofLift = (percent: number) => (percent >= 100 ? 'the whole lift' : `${percent} % of the lift`);

function lost(ids: readonly string[], said: Said, about: About): string {
  const one = ids.length === 1 && (ids[0] === 'head' || ids[0] === 'bar');
  const share = said.num('outsidePercent');
  const when = share >= 90 ? 'for' : `${moment(said.id('moment') as Moment, about.lift)},`;
  const much = share >= 1 ? `${when} ${ofLift(share)}${share >= 90 ? '' : ' in all'}` : when.slice(0, -1);
  return `${capital(list(ids.map(partOf)))} ${one ? 'was' : 'were'} out of the picture ${much}. ${keepIn(ids, said.id('moment'))}`;
}

const isAre = (id: string) => (id === 'head' || id === 'bar' ? 'was' : 'were');
const trimStart = (about: About, leadInS: number) => seconds(about.trim ? about.trim.startS : Math.max(0, leadInS - 1));
const trimEnd = (about: About, tailS: number) =>
  seconds(about.trim && about.durationS !== null ? Math.max(0, about.durationS - about.trim.endS) : Math.max(0, tailS - 1));

/** What a finding says to the member, by `rule/message`. */
export const messages: Language['messages'] = {
  'lifter-present/no-lifter': () =>
    'I could not find a lifter in the picture. Point the phone so that all of you is in view, head to feet, before you start.',
  'orientation/sideways': (n) =>
    `The clip plays on its side: your head points to the ${n.id('head')}. Turn it a quarter turn ${n.num('turnDeg') === 90 ? 'to the right (clockwise)' : 'to the left (counterclockwise)'} in your phone's editor and post it again.`,
  'orientation/upside-down': (n) =>
    `The clip plays upside down. Turn it half way round (${n.num('turnDeg')} degrees) in your phone's editor and post it again.`,
  'cuts/cut-inside': (n) =>
    `There ${n.num('count') === 1 ? 'is' : 'are'} ${count(n.num('count'), 'cut')} inside the lift, the first at ${clock(n.num('atS'))}. Post the whole set in one piece.`,
  'cuts/cut-outside': (n) =>
    `There ${n.num('count') === 1 ? 'is' : 'are'} ${count(n.num('count'), 'cut')} outside the lift, the first at ${clock(n.num('atS'))}. A clip in one piece is easier to follow.`,
  'lift-in-clip/no-rep': () =>
    'I found no full rep in the clip. Post the part with the set, from just before the first rep to just after the last.',
  'view/outside-accepted': walk,
  'view/not-requested': (n, about) =>
    `Your coach asked for this lift ${requested[n.id('requestedClass')] ?? n.id('requestedClass')}. ${walk(n, about)}`,
  'parts-in-frame/part-lost': (n, about) => lost([n.id('part')], n, about),
  'parts-in-frame/parts-lost': (n, about) => lost(n.id('parts').split(','), n, about),
  'parts-in-frame/part-outside': (n) =>
    `${capital(partOf(n.id('part')))} ${isAre(n.id('part'))} out of the picture for ${ofLift(n.num('outsidePercent'))}. ${keepIn([n.id('part')], '')}`,
  'parts-in-frame/part-hidden': (n) =>
    `${capital(partOf(n.id('part')))} ${isAre(n.id('part'))} hidden for ${ofLift(n.num('hiddenPercent'))}. Move the phone a step to one side. ${safeties}`,
  'obstruction/across-bottom': (n) =>
    `Something in front hides the lowest ${n.num('percent')} % of you. Move the phone past it, or raise it, until you show from head to feet. ${safeties}`,
  'obstruction/over-lifter': (n) =>
    `Something between the phone and you hides ${n.num('percent')} % of you. Move the phone a step or two to one side, until nothing stands between. ${safeties}`,
  'camera-height/too-low': (n) =>
    `The phone was ${heightOf(n.id('heightClass'))}. Raise it to ${heightWord(n.num('minM'), n.num('maxM'))}, ${metresRange(n.num('minM'), n.num('maxM'))} above the floor.`,
  'camera-height/too-high': (n) =>
    `The phone was ${heightOf(n.id('heightClass'))}. Lower it to ${heightWord(n.num('minM'), n.num('maxM'))}, ${metresRange(n.num('minM'), n.num('maxM'))} above the floor.`,
  'distance/too-far': (n) => {
    const closer = Math.max(0.5, n.num('distanceM') - n.num('maxM'));
    return `The phone was ${metres(n.num('distanceM'))} away, so you fill only ${n.num('heightPercent')} % of the picture's height. Bring it ${stepsOf(closer, stepsToReach(closer))} closer, to ${metresRange(n.num('minM'), n.num('maxM'))}.`;
  },
  'distance/too-near': (n) => {
    const back = Math.max(0.5, n.num('minM') - n.num('distanceM'));
    return `The phone was only ${metres(n.num('distanceM'))} away. Move it ${stepsOf(back, stepsToReach(back))} back, to ${metresRange(n.num('minM'), n.num('maxM'))}.`;
  },
  'lifter-size/too-small': (n, about) => {
    const how =
      about.distanceM === null || about.toDistanceM === null
        ? `Bring the phone closer, to about ${roundTo((100 * n.num('heightPercent')) / n.num('minPercent'), 5)} % of the distance`
        : `Bring the phone ${stepsOf(about.distanceM - about.toDistanceM)} closer`;
    return `You fill only ${n.num('heightPercent')} % of the picture's height; ${n.num('minPercent')} % or more lets a coach see you. ${how}.`;
  },
  'lifter-size/too-close': (n) =>
    `You fill ${n.num('heightPercent')} % of the picture's height; up to ${n.num('maxPercent')} % leaves room for the whole lift. Move the phone a step back.`,
  'light/dark': (n) =>
    `The picture is too dark to see you well (brightness ${n.num('meanPercent')} of 100). Turn on more lights, or film with a window or lamp behind the phone.`,
  'light/backlit': (n) =>
    `The light is behind you, so you look dark (brightness ${n.num('meanPercent')} of 100). If you can, dim it, or light yourself from the phone's side.`,
  'steadiness/moving': (n) =>
    `The picture moves by ${n.num('percentPerS')} % of its width each second. Put the phone on a tripod and leave it there for the whole set.`,
  'steadiness/propped-or-held': (n) =>
    `The picture shakes a little, ${n.num('percentPerS')} % of its width each second. A tripod would keep it still.`,
  'dead-time/lead-in': (n, about) =>
    `There are ${seconds(n.num('leadInS'))} before the first rep; up to ${seconds(n.num('maxS'))} is fine. Cut the first ${trimStart(about, n.num('leadInS'))} off.`,
  'dead-time/tail': (n, about) =>
    `There are ${seconds(n.num('tailS'))} after the last rep; up to ${seconds(n.num('maxS'))} is fine. Cut the last ${trimEnd(about, n.num('tailS'))} off.`,
  'dead-time/both-ends': (n, about) =>
    `There are ${seconds(n.num('leadInS'))} before the first rep and ${seconds(n.num('tailS'))} after the last; up to ${seconds(n.num('maxS'))} is fine. Cut ${trimStart(about, n.num('leadInS'))} off the start and ${trimEnd(about, n.num('tailS'))} off the end.`,
  'dead-time/rest-between': (n) =>
    `There is a rest of ${seconds(n.num('restS'))} between two reps; up to ${seconds(n.num('maxS'))} is easy to watch. If these are two sets, post each as its own clip.`,
  'one-set/several-sets': (n) =>
    `There is a rest of ${seconds(n.num('restS'))}, so this looks like more than one set. Post one set in each clip.`,
  'playback-speed/slow-motion': (n) =>
    `The clip is in slow motion (${Math.round(n.num('fps'))} pictures a second). Film at normal speed, so that your coach sees how fast the bar moves.`,
  'playback-speed/sped-up': (n) =>
    `A rep takes only ${roundTo(n.num('repS'), 0.1)} s, less than the ${roundTo(n.num('minRepS'), 0.1)} s I would expect. If the clip is sped up, post it at normal speed.`,
  'one-lifter/several-people': (n) =>
    `I see ${n.num('count')} people and cannot be sure which one lifts. Ask the others to stand out of the picture, except your spotters.`,
  'lift-known/lift-unknown': () => 'I could not tell which lift this is. Name it in the caption, for example: squat 100 kg x 3.',
  'lift-known/other-lift': () =>
    'This looks like none of the lifts I know (squat, bench press, press, deadlift), so I could check only the light, the size and the steadiness. Say in the caption what your coach should look at.',
  'as-captioned/other-than-captioned': (n) =>
    `The caption says ${liftName(n.id('captioned'))}, and I see ${aLift(n.id('measured'))}. Check that caption and clip belong together.`,
  'as-captioned/reps-differ': (n) =>
    `The caption says ${count(n.num('captioned'), 'rep')}, and I count ${n.num('measured')}. Check that the whole set is in the clip; I may have miscounted.`,
  'clip-length/long-for-reps': (n) =>
    `The clip is ${seconds(n.num('durationS'))} long for ${count(n.num('reps'), 'rep')}; ${seconds(n.num('maxS'))} would do. Trim it to the set.`,
  'clip-length/starts-mid-rep': () =>
    'The clip starts when the first rep has already begun. Start 2 or 3 seconds before the first rep.',
  'clip-length/ends-mid-rep': () => 'The clip ends before the last rep does. Let it run 2 or 3 seconds after the last rep.',
  'sharpness/blurred': (n) =>
    `The picture is blurred (sharpness ${n.num('sharpPercent')} of 100, ${n.num('minPercent')} or more is good). Wipe the lens, then tap on yourself on the screen to focus.`,
  'resolution/low-resolution': (n) =>
    `The picture is ${n.num('widthPx')} x ${n.num('heightPx')} dots; the short side should have ${n.num('minPx')} or more. Post the original file, or film at 720p or 1080p.`,
  'frame-rate/low-frame-rate': (n) =>
    `The clip has ${Math.round(n.num('fps'))} pictures a second; ${n.num('minFps')} or more shows fast moments. Choose 30 in your camera's settings.`,
  'picture-shape/portrait-better': (n) =>
    `You fill ${n.num('heightPercent')} % of the height of a wide picture (${n.num('widthPx')} x ${n.num('heightPx')}). Hold the phone upright for this lift.`,
  'picture-shape/landscape-better': (n) =>
    `You fill ${n.num('heightPercent')} % of the height of a tall picture (${n.num('widthPx')} x ${n.num('heightPx')}). Turn the phone on its side for this lift.`,
};

import type { LiftId, Moment, Part } from '../facts/facts.ts';
import { type Place, placeOf, walkBetween } from './directions.ts';
import { coachWords } from './en-coach.ts';
import { deskWords } from './en-desk.ts';
import { memberWords } from './en-member.ts';
import { moderatorWords } from './en-moderator.ts';
import { recordWords } from './en-record.ts';
import { requested } from './en-requested.ts';
import type { About, Language } from './language.ts';
import { clock, feet, roundTo, steps, stepsToReach } from './numbers.ts';
import type { Said } from './template.ts';

const lifts: Record<LiftId, string> = {
  squat: 'squat',
  press: 'press',
  deadlift: 'deadlift',
  bench: 'bench press',
  other: 'another lift',
};
const parts: Record<Part, string> = {
  head: 'your head',
  shoulders: 'your shoulders',
  elbows: 'your elbows',
  hands: 'your hands',
  hips: 'your hips',
  knees: 'your knees',
  feet: 'your feet',
  bar: 'the bar',
};
const heights = {
  floor: 'on the floor',
  low: 'at knee height',
  waist: 'at waist height',
  head: 'at head height',
  above: 'above head height',
} as const;

const standing: Record<Place, string> = {
  front: 'straight in front of you',
  'front-left': 'in front of your left shoulder',
  left: 'square to your left side',
  'rear-left': 'behind your left shoulder',
  rear: 'straight behind you',
  'rear-right': 'behind your right shoulder',
  right: 'square to your right side',
  'front-right': 'in front of your right shoulder',
};
const lying: Record<Place, string> = {
  front: 'straight between your feet',
  'front-left': 'out past your left foot, looking back at you',
  left: 'square to your left side',
  'rear-left': 'off your left shoulder, at the head end',
  rear: 'straight behind your head',
  'rear-right': 'off your right shoulder, at the head end',
  right: 'square to your right side',
  'front-right': 'out past your right foot, looking back at you',
};
const standingViews: Record<Place, string> = {
  front: 'from the front',
  'front-left': 'from the front left',
  left: 'from the left side',
  'rear-left': 'from behind on the left',
  rear: 'from behind',
  'rear-right': 'from behind on the right',
  right: 'from the right side',
  'front-right': 'from the front right',
};
const lyingViews: Record<Place, string> = {
  front: 'from between the feet',
  'front-left': 'from the foot end, left',
  left: 'from the left side',
  'rear-left': 'from the head end, left',
  rear: 'from behind the head',
  'rear-right': 'from the head end, right',
  right: 'from the right side',
  'front-right': 'from the foot end, right',
};
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

const metres = (m: number) => `${roundTo(m, 0.1)} m (${feet(m)} ft)`;
const metresRange = (from: number, to: number) => `${roundTo(from, 0.1)}–${roundTo(to, 0.1)} m (${feet(from)}–${feet(to)} ft)`;
const stepsOf = (m: number, whole = steps(m)) => (whole === 1 ? 'one step' : `about ${whole} steps`);
const seconds = (s: number) => (s < 2 ? `${roundTo(s, 0.1)} s` : `${Math.round(s)} s`);
const count = (n: number, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`;
/** Keeps a number and its unit on one line of a picture. */
const unbroken = (text: string) => text.replace(/(\d) (m|ft)\b/g, '$1\u00a0$2');
const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
const list = (items: readonly string[]) =>
  items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
const partOf = (id: string) => parts[id as Part] ?? id;
const liftName = (id: string) => lifts[id as LiftId] ?? id;
/** A part of a clip by its clock, one time where both ends show the same. */
const timesOf = ({ startS, endS }: { startS: number; endS: number }) =>
  clock(startS) === clock(endS) ? `at ${clock(startS)}` : `${clock(startS)}–${clock(endS)}`;
const aLift = (id: string) => (id === 'other' ? 'another lift' : `a ${liftName(id)}`);
const heightWord = (from: number, to: number) => {
  const middle = (from + to) / 2;
  if (middle < 0.7) return 'about knee height';
  if (middle < 1.1) return 'about waist height';
  if (middle < 1.45) return 'about chest height';
  return middle < 1.9 ? 'about head height' : 'above head height';
};
const place = (at: Place, lift: LiftId | null) => (lift === 'bench' ? lying : standing)[at];
/** A place that may be taken on the left or on the right. */
const eitherSide = (at: Place, lift: LiftId | null) => place(at, lift).replace(/\b(your) (left|right) /, 'either ');
const safeties = 'Leave safeties and spotter arms where they are.';

function moment(at: Moment, lift: LiftId | null): string {
  if (at === 'start') return 'at the start of the rep';
  if (at === 'lockout') return 'at lockout';
  return lift === 'press' || lift === 'deadlift' ? 'at the top' : 'at the bottom';
}

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
  const arc = about.distanceM === null ? '' : ` (${count(steps((about.distanceM * turnDeg * Math.PI) / 180), 'step')})`;
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

function lost(ids: readonly string[], said: Said, about: About): string {
  const one = ids.length === 1 && (ids[0] === 'head' || ids[0] === 'bar');
  const share = said.num('outsidePercent');
  const when = share >= 90 ? 'for' : `${moment(said.id('moment') as Moment, about.lift)},`;
  const much = share >= 1 ? `${when} ${share} % of the lift${share >= 90 ? '' : ' in all'}` : when.slice(0, -1);
  return `${capital(list(ids.map(partOf)))} ${one ? 'was' : 'were'} out of the picture ${much}. ${keepIn(ids, said.id('moment'))}`;
}

const isAre = (id: string) => (id === 'head' || id === 'bar' ? 'was' : 'were');
const trimStart = (about: About, leadInS: number) => seconds(about.trim ? about.trim.startS : Math.max(0, leadInS - 1));
const trimEnd = (about: About, tailS: number) =>
  seconds(about.trim && about.durationS !== null ? Math.max(0, about.durationS - about.trim.endS) : Math.max(0, tailS - 1));

const messages: Language['messages'] = {
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
    `${capital(partOf(n.id('part')))} ${isAre(n.id('part'))} out of the picture for ${n.num('outsidePercent')} % of the lift. ${keepIn([n.id('part')], '')}`,
  'parts-in-frame/part-hidden': (n) =>
    `${capital(partOf(n.id('part')))} ${isAre(n.id('part'))} hidden for ${n.num('hiddenPercent')} % of the lift. Move the phone a step to one side. ${safeties}`,
  'obstruction/across-bottom': (n) =>
    `Something in front hides the lowest ${n.num('percent')} % of you. Move the phone past it, or raise it, until you show from head to feet. ${safeties}`,
  'obstruction/over-lifter': (n) =>
    `Something between the phone and you hides ${n.num('percent')} % of you. Move the phone a step or two to one side, until nothing stands between. ${safeties}`,
  'camera-height/too-low': (n) =>
    `The phone was ${heights[n.id('heightClass') as keyof typeof heights] ?? n.id('heightClass')}. Raise it to ${heightWord(n.num('minM'), n.num('maxM'))}, ${metresRange(n.num('minM'), n.num('maxM'))} above the floor.`,
  'camera-height/too-high': (n) =>
    `The phone was ${heights[n.id('heightClass') as keyof typeof heights] ?? n.id('heightClass')}. Lower it to ${heightWord(n.num('minM'), n.num('maxM'))}, ${metresRange(n.num('minM'), n.num('maxM'))} above the floor.`,
  'distance/too-far': (n) => {
    const closer = Math.max(0.5, n.num('distanceM') - n.num('maxM'));
    return `The phone was ${metres(n.num('distanceM'))} away, so you fill only ${n.num('heightPercent')} % of the picture's height. Bring it ${stepsOf(closer, stepsToReach(closer))} closer, to ${metresRange(n.num('minM'), n.num('maxM'))}.`;
  },
  'distance/too-near': (n) => {
    const back = Math.max(0.5, n.num('minM') - n.num('distanceM'));
    return `The phone was only ${metres(n.num('distanceM'))} away. Move it ${stepsOf(back, stepsToReach(back))} back, to ${metresRange(n.num('minM'), n.num('maxM'))}.`;
  },
  'lifter-size/too-small': (n, about) => {
    const keep = n.num('heightPercent') / n.num('minPercent');
    const how =
      about.distanceM === null
        ? `Bring the phone closer, to about ${roundTo(keep * 100, 5)} % of the distance`
        : `Bring the phone ${stepsOf(about.distanceM * (1 - keep))} closer`;
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
    'This looks like none of the lifts I know (squat, bench press, press, deadlift). I could check only the light, the size and the steadiness.',
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

const ruleNames: Language['ruleNames'] = {
  'lifter-present': 'a lifter in the picture',
  orientation: 'which way up it plays',
  cuts: 'cuts',
  'lift-in-clip': 'a full rep',
  view: 'where the phone stands',
  'parts-in-frame': 'your body staying in the picture',
  obstruction: 'things in front of you',
  'camera-height': "the phone's height",
  distance: "the phone's distance",
  'lifter-size': 'your size in the picture',
  light: 'the light',
  steadiness: 'a steady phone',
  'dead-time': 'waiting before and after the lift',
  'one-set': 'one set in a clip',
  'playback-speed': 'playing speed',
  'one-lifter': 'who the lifter is',
  'lift-known': 'which lift it is',
  'as-captioned': 'caption and clip together',
  'clip-length': "the clip's length",
  sharpness: 'a sharp picture',
  resolution: 'enough picture dots',
  'frame-rate': 'enough pictures a second',
  'picture-shape': 'upright or sideways phone',
};

const reasons: Language['reasons'] = {
  'not-measured': 'not measured',
  'no-lifter': 'no lifter found',
  'no-lift': 'no full rep found',
  'lifter-unclear': 'I could not tell who lifts',
  'too-few-frames': 'too little to look at',
  hidden: 'too much of you was hidden',
  'too-dark': 'too dark',
  'camera-moves': 'the phone moved',
  'slow-motion': 'the clip is in slow motion',
  'cut-inside': 'there is a cut inside the lift',
  ambiguous: 'it could be one or the other',
  'not-stated': 'not in the caption',
  'container-silent': 'the file does not say',
  'lift-unknown': 'I could not tell which lift it is',
};

const again = 'Please film or save it again and post the new file.';
const errors: Language['errors'] = {
  'clip-empty': `This file is empty, so something went wrong while it was saved or sent. ${again}`,
  'clip-missing': 'I could not find this clip any more. Please post it again.',
  'clip-no-permission': 'I was not allowed to open this clip. Please post it again; if that does not help, tell a moderator.',
  'clip-too-big': 'This file is bigger than I can take. Trim it to the set, or save it at 1080p, and post it again.',
  'clip-not-video': 'This file is not a video that I can read. Post the clip as your phone saved it (MP4 or MOV).',
  'clip-image-or-audio-only': 'This file holds no moving picture, only a still or sound. Post the video of the set.',
  'clip-playlist': 'This file only points at other files and holds no video itself. Post the video file.',
  'clip-codec-unknown': 'The video is packed in a way that I cannot read. Save it as MP4 (H.264) and post it again.',
  'clip-damaged': `The clip is damaged or cut off, so I could not read it to the end. ${again}`,
  'clip-too-long': 'This clip is too long for me to check. Trim it to one set and post it again.',
  'clip-too-many-pixels': 'The picture is larger than I can check. Save it at 1080p and post it again.',
  'clip-time-gaps': `The clip has long gaps in its time, so it cannot be played as filmed. ${again}`,
  'clip-took-too-long': 'Checking this clip took too long, so I stopped. Trim it to one set and post it again.',
  'clip-took-too-much-memory':
    'This clip needs more memory than I have. Save it at 1080p, trimmed to one set, and post it again.',
  'worker-died':
    'Something went wrong on my side while I checked this clip. I could not finish; please post it again in a while.',
};

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
  forCoaches: {
    ruleNames: {
      ...ruleNames,
      'parts-in-frame': "the lifter's body staying in the picture",
      obstruction: 'things in front of the lifter',
      'lifter-size': "the lifter's size in the picture",
    },
    reasons: { ...reasons, hidden: 'too much of the lifter was hidden' },
  },
  errors,
  lifts,
  parts,
  moment,
  heights,
  place,
  view: (at, lift) => (lift === 'bench' ? lyingViews : standingViews)[at],
  value(name, value, lift) {
    if (typeof value === 'number') return String(roundTo(value, Number.isInteger(value) ? 1 : 0.1));
    if (name === 'parts') return list(value.split(',').map(partOf));
    if (name === 'part') return partOf(value);
    if (name === 'moment') return moment(value as Moment, lift);
    if (name === 'heightClass') return heights[value as keyof typeof heights] ?? value;
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
        at && en.view(at, lift),
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
  pictures: {
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
      `Drawing of how to film the ${lifts[lift]}: the phone stands ${places.map((at) => eitherSide(at, lift)).join(', or ')}, ${metresRange(...heightM)} above the floor, ${metresRange(...distanceM)} away. ${en.pictures.guideSee(see)} ${en.pictures.guideTips.join(' ')}`,
  },
};

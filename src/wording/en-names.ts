import type { HeightClass, LiftId, Moment, Part } from '../facts/facts.ts';
import type { Place } from './directions.ts';

/** Lifts by id. */
export const lifts: Record<LiftId, string> = {
  squat: 'squat',
  press: 'press',
  deadlift: 'deadlift',
  bench: 'bench press',
  other: 'another lift',
};
/** What must be seen, as the member's own. */
export const parts: Record<Part, string> = {
  head: 'your head',
  shoulders: 'your shoulders',
  elbows: 'your elbows',
  hands: 'your hands',
  hips: 'your hips',
  knees: 'your knees',
  feet: 'your feet',
  bar: 'the bar',
};
/** Heights of the phone, by class. */
export const heights: Readonly<Record<HeightClass, string>> = {
  floor: 'on the floor',
  low: 'at knee height',
  waist: 'at waist height',
  head: 'at head height',
  above: 'above head height',
};

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

/** A part by its id; an id without a name stays. */
export const partOf = (id: string) => parts[id as Part] ?? id;
/** A lift by its id; an id without a name stays. */
export const liftName = (id: string) => lifts[id as LiftId] ?? id;
/** A height by its class; a class without a name stays. */
export const heightOf = (id: string) => heights[id as HeightClass] ?? id;
/** Where a phone stands, in the lifter's own left and right. */
export const place = (at: Place, lift: LiftId | null) => (lift === 'bench' ? lying : standing)[at];
/** A place that may be taken on the left or on the right. */
export const eitherSide = (at: Place, lift: LiftId | null) => place(at, lift).replace(/\b(your) (left|right) /, 'either ');
/** From where a clip is filmed. */
export const viewFrom = (at: Place, lift: LiftId | null) => (lift === 'bench' ? lyingViews : standingViews)[at];

/** A moment of the rep. */
export function moment(at: Moment, lift: LiftId | null): string {
  if (at === 'start') return 'at the start of the rep';
  if (at === 'lockout') return 'at lockout';
  return lift === 'press' || lift === 'deadlift' ? 'at the top' : 'at the bottom';
}

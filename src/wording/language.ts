import type { HeightClass, LiftId, Moment, Part } from '../facts/facts.ts';
import type { CoachWords } from './coach-words.ts';
import type { Place } from './directions.ts';
import type { MemberWords } from './member-words.ts';
import type { ModeratorWords } from './moderator-words.ts';
import type { RecordWords } from './record-words.ts';
import type { Said } from './template.ts';

/**
 * What a sentence may need besides its own numbers. `distanceM` and `trim` are null when unknown or not planned; `toDistanceM` is where
 * another line of the same reply sends the phone, null if none does.
 */
export interface About {
  lift: LiftId | null;
  distanceM: number | null;
  toDistanceM: number | null;
  trim: { startS: number; endS: number } | null;
  durationS: number | null;
}

/** What a reply says of the clip in one line; null where a fact is unknown. */
export interface SeenClip {
  lift: LiftId | null;
  reps: number | null;
  window: { startS: number; endS: number } | null;
  place: Place | null;
}

/** What is said to whoever presses a button or types a command that cannot be done. */
export interface DeskWords {
  /** The button or command is of another version. */
  unknownAct: string;
  refused(who: 'anyone' | 'coach' | 'moderator'): string;
  wentWrong: string;
}

/** All words of one language. Keys of `messages` are `rule/message`; each text is one line. */
export interface Language {
  coach: CoachWords;
  desk: DeskWords;
  member: MemberWords;
  moderator: ModeratorWords;
  record: RecordWords;
  messages: Readonly<Record<string, (said: Said, about: About) => string>>;
  /** What a rule looks at, in a few words, to stand in a list. */
  ruleNames: Readonly<Record<string, string>>;
  /** Why something could not be told, by reason id. */
  reasons: Readonly<Record<string, string>>;
  /** The same where a coach reads it: of the lifter, not of you. */
  forCoaches: Pick<Language, 'ruleNames' | 'reasons'>;
  /** One or two sentences for the member, by error code of a clip that could not be read. */
  errors: Readonly<Record<string, string>>;
  lifts: Readonly<Record<LiftId, string>>;
  parts: Readonly<Record<Part, string>>;
  moment(moment: Moment, lift: LiftId | null): string;
  heights: Readonly<Record<HeightClass, string>>;
  /** Where a phone stands, to follow "the phone stood". */
  place(place: Place, lift: LiftId | null): string;
  /** From where the clip is filmed, for the coach: "from behind to the right". */
  view(place: Place, lift: LiftId | null): string;
  /** Placeholder's value in words, for templates of moderators. */
  value(name: string, value: number | string, lift: LiftId | null): string;
  list(items: readonly string[]): string;
  reply: {
    fixHead(count: number): string;
    fixMore(count: number): string;
    cleanHead: string;
    trimHead(cutBeforeS: number, cutAfterS: number): string;
    trimNote(attached: boolean): string;
    unsureHead: string;
    couldNotTell(items: { names: string[]; reason: string }[]): string;
    correction(place: number, text: string): string;
    optional(text: string): string;
    sides(lift: LiftId | null): string;
    seen(seen: SeenClip): string;
    filmingOnly: string;
    cautions: string;
  };
  card: {
    title(parts: { name: string | null; lift: LiftId | null; loadText: string | null; reps: number | null }): string;
    load(kg: number, unit: 'kg' | 'lb'): string;
    view(view: string | null, degrees: number | null): string;
    reps(times: { startS: number; endS: number }[]): string;
    repsUnknown: string;
    asked(question: string): string;
    unsure(items: { names: string[]; reason: string }[]): string;
    thread(url: string): string;
  };
  chat: {
    /** To a link to a video site. */
    uploadInstead: string;
    /** `ahead`: clips before this one, null when unknown; `percent`: how much is measured, null before it began. */
    waiting(state: { ahead: number | null; percent: number | null }): string;
  };
  /** How a new take compares with the last. */
  progress: {
    fixed(names: string[]): string;
    /** Good enough now, with room to spare. */
    better(names: string[]): string;
    left(names: string[]): string;
    /** A correction that is left, and nearer to done. */
    nearer(name: string): string;
    fresh(names: string[]): string;
    /** Could not be told this time. */
    unknown(names: string[]): string;
    allFixed: string;
  };
  pictures: PictureWords;
}

/** Words of the pictures and of their alt texts. */
export interface PictureWords {
  now: string;
  want: string;
  front: string;
  feetEnd: string;
  headEnd: string;
  left: string;
  right: string;
  height: string;
  fromAbove: string;
  /** `distanceM` is given where the distance is to be changed. */
  nowLine(parts: { place: Place | null; height: HeightClass | null; distanceM: number | null; lift: LiftId | null }): string;
  wantLine(parts: {
    place: Place;
    heightM: readonly [number, number];
    distanceM: readonly [number, number];
    lift: LiftId | null;
  }): string;
  distance(distanceM: readonly [number, number]): string;
  heightRange(heightM: readonly [number, number]): string;
  placementAlt(now: string, want: string, turnDeg: number | null): string;
  noPlace: string;
  timelineTitle(parts: { durationS: number; reps: number | null; kept: { startS: number; endS: number } | null }): string;
  timelineAlt(parts: {
    durationS: number;
    reps: { startS: number; endS: number }[] | null;
    kept: { startS: number; endS: number } | null;
  }): string;
  cut: string;
  dead: string;
  stillLabel(moment: Moment, lift: LiftId | null): string;
  sheetAlt(lift: LiftId | null, reps: number, stills: number): string;
  /** Places of the accepted views, the preferred first; each counts on either side. */
  guidePlaces(places: readonly Place[], lift: LiftId): string;
  guideTitle(lift: LiftId): string;
  guideSee(parts: readonly Part[]): string;
  guideTips: readonly string[];
  guideAlt(parts: {
    lift: LiftId;
    places: readonly Place[];
    heightM: readonly [number, number];
    distanceM: readonly [number, number];
    see: readonly Part[];
  }): string;
}

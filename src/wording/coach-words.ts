import type { LiftId } from '../facts/facts.ts';
import type { RequestedView } from '../rules/request.ts';

/** How long a coach's wish lasts, in what is left of it; a day is written as in `CoachWords.day`. */
export type RequestLeft = { clips: number } | { until: string } | null;

/** One clip in a list, in words: its title, how long it has waited, and the address of its thread. */
export interface ListedClip {
  number: number;
  title: string;
  waitMs: number;
  url: string | null;
}

/** All that is said to coaches, and to members in their name. Times in ms; `title` is a card's first line without bold. */
export interface CoachWords {
  buttons: {
    take: string;
    handBack: string;
    done: string;
    unusable: string;
    askView: string;
    endRequest: string;
    takeNumber(number: number): string;
    doneNumber(number: number): string;
  };
  /** What the command says of itself. */
  waitingCommand: string;
  /** A day in words, from `2026-11-25`. */
  day(date: string): string;
  /** A length of time in words, by the minute, hour or day. */
  time(ms: number): string;
  views: Readonly<Record<string, string>>;
  card: {
    taken(coach: string): string;
    done(coach: string): string;
    unusable(coach: string, what: string, note: string): string;
    byRequest(parts: { coach: string; view: RequestedView; note: string }): string;
    earlier(parts: { day: string; loadText: string | null; verdict: 'clean' | 'fix' | 'unsure'; url: string | null }): string;
  };
  told: {
    taken(title: string, url: string | null): string;
    yoursAlready: string;
    takenBy(coach: string): string;
    notTaken: string;
    notYours(coach: string): string;
    handedBack: string;
    /** `newerTake`: their posts have the mark of that one. */
    done(member: string, newerTake: boolean): string;
    /** Another coach, or the same one earlier, has ended it. */
    over(coach: string, state: 'done' | 'unusable'): string;
    gone: string;
    /** `missed`: the bot had passed it. */
    unusable(member: string, missed: boolean): string;
    asked(member: string): string;
    badReason: string;
    badEnd: string;
    badLift: string;
    requestEnded: string;
    requestOver: string;
  };
  list: {
    nothing: string;
    yours(count: number): string;
    waiting(count: number): string;
    line(clip: ListedClip): string;
    with(coach: string, clips: number): string;
    more(count: number): string;
  };
  unusableForm: { title: string; reason: string; reasonHint: string; note: string; noteHint: string };
  askForm: {
    title: string;
    lift: string;
    liftHint(lift: string | null): string;
    view: string;
    viewHint: string;
    lasts: string;
    lastsHint: string;
    clips(count: number): string;
    until: string;
    untilHint(date: string): string;
    note: string;
    noteHint: string;
  };
  /** To the member: a coach could not use the clip. `wanted`: where the phone should have been, in words, null when it is not known. */
  sentBack(parts: { coach: string; correction: string; note: string }): string;
  corrections: Readonly<
    Record<string, (wanted: { place: string | null; height: string | null; distance: string | null }) => string>
  >;
  metres(range: readonly [number, number]): string;
  /** To the member: a coach wants to see the lift from elsewhere. */
  asks(parts: { coach: string; lift: LiftId; liftName: string; view: RequestedView; note: string; left: RequestLeft }): string;
  /** To the member: the wish for another view does not count any more. */
  takesBack(coach: string, liftName: string): string;
  /** Under a reply: the clip was judged by a coach's wish. */
  judgedBy(parts: { coach: string; liftName: string; view: RequestedView; left: RequestLeft; passed: boolean }): string;
  digest(parts: {
    waiting: number;
    longestMs: number | null;
    taken: { coach: string; clips: number }[];
    medianWaitMs: number | null;
    done: { coach: string; clips: number }[];
    served: { member: string; clips: number }[];
    unusable: number;
    corrections: { what: string; clips: number }[];
  }): string;
}

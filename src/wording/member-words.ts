/** What a coach asked of a member, as far as it is to be said. */
export interface AskedView {
  /** Name of the lift. */
  lift: string;
  /** Id of the view. */
  view: string;
  note: string;
  clipsLeft: number | null;
  /** ms since 1970. */
  untilMs: number | null;
  byName: string;
}

/** Why a clip that was sent back goes to the coaches: `cut`, the bot's own cut cures it. */
export type PassedKind = 'cut' | 'appeal' | 'asked-view';

/** What members are told at the desk. */
export interface MemberWords {
  film: {
    description: string;
    lift: string;
    which: string;
    /** Each part is a sentence or range of the picture's words. */
    guide(parts: { lift: string; places: string; away: string; high: string; see: string; sideMatters: boolean }): string;
    asked(request: AskedView): string;
    askedOther(request: AskedView): string;
  };
  /** Under the reply to a clip that was sent back. */
  buttons: { useTrimmed: string; useUpright: string; askedView: string; appeal: string };
  /** `title` and labels up to 45 characters. */
  appealForm: { title: string; which: string; all: string; why: string; hint: string };
  passing: {
    unknownClip: string;
    notYours: string;
    there: string;
    notSentBack: string;
    clipGone: string;
    notCured: string;
    notAboutView: string;
    noReason: string;
    appealsUsedUp(most: number): string;
    askedUsedUp(most: number): string;
    passed: string;
    /** Line added to the reply in the thread. */
    replyNote: string;
  };
  height: {
    description: string;
    field: string;
    notSet: string;
    isSet(cm: number): string;
    saved(cm: number): string;
    cleared: string;
    notUnderstood: string;
    /** What may be typed to take it back, lower case. */
    off: readonly string[];
  };
  history: {
    description: string;
    lift: string;
    nothing(lift: string | null): string;
    /** `count` first takes, of which `clean` had nothing to fix. */
    takes(said: { lift: string | null; takes: number; count: number; clean: number }): string;
    /** The most frequent first; empty when nothing was sent back. */
    corrections(most: { name: string; clips: number }[]): string;
    setsHead(shown: number, all: number): string;
    /** One line. */
    set(said: { day: string; lift: string; loadText: string | null; repTimesS: number[]; speed: string }): string;
    compared(day: string, lift: string, text: string): string;
    setHeight: string;
  };
  forget: {
    description: string;
    /** What would be deleted, and what stays; before the member confirms. */
    ask(clips: number): string;
    confirm: string;
    nothing: string;
    done(clips: number): string;
    /** Stands for the member's name in posts that do not belong to a clip. */
    someone: string;
  };
  /** Line for the coach under the card. `corrections`: what was to be fixed, in words. */
  cardNote(said: { kind: PassedKind; reason: string; corrections: string[] }): string;
}

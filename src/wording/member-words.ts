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
}

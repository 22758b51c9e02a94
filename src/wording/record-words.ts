/** Means of the way up in m/s by rep, null where not told. */
type Means = readonly (number | null)[];

/** Loss of speed from the fastest rep to the last in percent, with the half-width of its 90 % interval in percentage points. */
export interface LossSaid {
  percent: number;
  spreadPoints: number;
}

/** What a comparison says of the difference, percent of the earlier speed. */
export interface ChangeSaid {
  percent: number;
  spreadPoints: number;
  reps: number;
}

/** The earlier set: its day (2026-11-12) and load in words. */
export interface EarlierSaid {
  day: string;
  loadText: string | null;
}

/** Words of the record: rep times and bar speed. */
export interface RecordWords {
  /** One line. `spreadMps`: the widest half-width of a mean's 90 % interval; `assumed`: for a lifter of average height, since no stature is set. */
  speed(parts: { means: Means; peakMps: number; spreadMps: number; loss: LossSaid | null; assumed: boolean }): string;
  speedUnknown(reason: string): string;
  faster(change: ChangeSaid, earlier: EarlierSaid): string;
  slower(change: ChangeSaid, earlier: EarlierSaid): string;
  same(change: ChangeSaid, earlier: EarlierSaid): string;
  /** Why a set cannot be compared: `other-lift`, `load-unknown`, `other-load`, `speed-unknown`. */
  notCompared: Readonly<Record<string, string>>;
  chart: {
    title: string;
    thisSet: string;
    rep: string;
    /** Below the chart: what the thin lines are, and by how much all may be off together. */
    note(sharedPercent: number): string;
    alt(parts: { means: Means; peakMps: number; earlier: { day: string; means: Means } | null; spreadMps: number }): string;
  };
}

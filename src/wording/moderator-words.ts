import type { LiftId } from '../facts/facts.ts';
import type { Verdict } from '../judge/judgement.ts';
import type { Severity } from '../rules/finding.ts';

/** A setting that differs, as src/moderation/differences.ts finds it. */
export interface DifferenceSaid {
  rule: string;
  lifts: 'all' | readonly (LiftId | null)[];
  setting: string;
  from: unknown;
  to: unknown;
}

/** A clip in a list; `url` is null where the platform has no links. */
export interface ClipSaid {
  name: string;
  lift: LiftId | null;
  atMs: number;
  url: string | null;
}

/** What is said of judging stored clips again. `shown`: some of the clips that flip; `unreadable`: clips left out. */
export interface EffectSaid {
  clips: number;
  unreadable: number;
  flips: readonly { from: Verdict; to: Verdict; clips: number; shown: readonly ClipSaid[] }[];
  otherWords: number;
  known: { clips: number; byCoach: number; rightBefore: number; rightAfter: number; mended: number; spoilt: number };
}

/** One rule as it stands for one lift, or for all where that is the same. */
export interface RuleSaid {
  rule: string;
  severity: Severity | null;
  /** Names and values; undefined: differs by lift. */
  options: readonly (readonly [string, unknown])[];
  share: { clips: number; stops: number; advises: number };
}

/** A week in numbers, as src/moderation/week.ts sums it up. */
export interface WeekSaid {
  toMs: number;
  submissions: number;
  members: number;
  clean: number;
  unsure: number;
  fix: number;
  firstTakes: { count: number; clean: number };
  answerS: { median: number; ninetieth: number } | null;
  saved: { cutClips: number; cutS: number; stoppedClips: number; stoppedS: number };
  /** What a coach needs to write a correction, min; 0: not counted. */
  correctionMin: number;
  corrections: readonly { rule: string; clips: number }[];
  appeals: { made: number; usable: number; notUsable: number; open: number };
  needHand: readonly { name: string; takes: number }[];
  suggestions: number;
}

/** All that is said to moderators. Times in ms since 1970. */
export interface ModeratorWords {
  commands: { rules: string; rulesLift: string; report: string };
  buttons: {
    change: string;
    paste: string;
    history: string;
    save: string;
    suggestions: string;
    undo: string;
    /** On the word of a change; refused once another was made. */
    undoThis: string;
    apply: string;
    drop: string;
  };
  allLifts: string;
  /** A rule's id with what it looks at. */
  rule(id: string): string;
  severities: Readonly<Record<Severity, string>>;
  list: {
    head(parts: { version: number; author: string; atMs: number; lift: LiftId | null; clips: number; readable: number }): string;
    line(rule: RuleSaid): string;
    choose: string;
  };
  detail: {
    head(rule: string, docs: string): string;
    line(lift: LiftId | null, rule: RuleSaid): string;
    text(lift: LiftId | null, message: string, text: string): string;
    overruled(parts: { stops: number; overruled: number; byCoach: number }): string;
  };
  changeForm: {
    title(rule: string): string;
    lift: string;
    severity: string;
    option: string;
    optionHint: string;
    value: string;
    valueHint: string;
  };
  pasteForm: { title: string; how: string; part: string; whole: string; text: string; textHint: string };
  reasonForm: { applyTitle: string; undoTitle: string; reason: string; hint: string };
  unknownRule: string;
  nothingChosen: string;
  unknownVersion: string;
  /** Problems of a rules file, each with its place and what to do. */
  notUnderstood(problems: readonly { path: string; problem: string; fix: string }[]): string;
  sameAlready: string;
  difference(difference: DifferenceSaid): string;
  moreDifferences(count: number): string;
  proposal: {
    head(version: number): string;
    gone: string;
    stale(version: number, author: string): string;
    noReason: string;
    applied(version: number): string;
    dropped: string;
  };
  effect(effect: EffectSaid): string;
  announced(parts: { who: string; reason: string; what: readonly string[] }): string;
  undone(version: number): string;
  undoReason(version: number, reason: string): string;
  /** `version`, `author`: what is in force. */
  undoStale(version: number, author: string): string;
  nothingToUndo: string;
  history: {
    head: string;
    line(parts: { version: number; author: string; atMs: number; reason: string; what: readonly string[] }): string;
    putBack: string;
    option(version: number, author: string, atMs: number): string;
  };
  saved(version: number): string;
  suggestions: {
    none(clips: number, known: number): string;
    head(clips: number, known: number): string;
    overruled(parts: { rule: string; stops: number; overruled: number; byCoach: number }): string;
    change(parts: { difference: DifferenceSaid; mended: number; spoilt: number; silent: number }): string;
    try: string;
    option(difference: DifferenceSaid): string;
  };
  week(week: WeekSaid): string;
  noClips: string;
}

import type { Fact } from '../facts/fact.ts';
import type { CaptionFacts, Facts, LiftId } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Ledger } from '../ledger/port.ts';
import type { LiftData } from '../lifts/index.ts';
import type { Still } from '../pictures/contact-sheet.ts';
import type { EarlierSet } from '../pictures/speed-chart.ts';
import type { Platform, PlatformName } from '../platforms/port.ts';
import type { ClipLimits, Task } from '../queue/payload.ts';
import type { FinalAnswer, Queue } from '../queue/port.ts';
import type { SetRecord } from '../record/set-record.ts';
import type { ViewRequest } from '../rules/request.ts';
import type { LiveRules } from './live-rules.ts';

/** Settings the use cases read each time they need one, so that a change counts at once. */
export interface BotSettings {
  /** Watched channels by platform. */
  watched: Partial<Record<PlatformName, readonly string[]>>;
  /** Where clean and unsure clips go, by platform; none: they stay with the member's thread. */
  coachChannel: Partial<Record<PlatformName, string>>;
  /** Role or group to mention there, and how often at most. */
  coachMention: Partial<Record<PlatformName, string>>;
  mentionEveryMin: number;
  /** Where changes of the rules are told and the weekly report goes, by platform. */
  moderatorChannel: Partial<Record<PlatformName, string>>;
  limits: ClipLimits;
  /** Waiting longer than this shows a progress message, s. */
  progressAfterS: number;
  /** Least time between two edits of progress messages on one platform, s. */
  progressEditEveryS: number;
  /** Wait before a failed act or fetch is tried again the first time, ms; doubled each time up to five minutes. */
  retryAfterMs: number;
  /** Clips and pictures are deleted this long after the answer, h. */
  clipHours: number;
  /** All that is kept of a clip is deleted this long after the answer, days; null: never. */
  factsDays: number | null;
  /** Ids of people, roles and groups, by platform. */
  people: Readonly<Partial<Record<PlatformName, { coaches: readonly string[]; moderators: readonly string[] }>>>;
  /** How often a member may send a clip on that was sent back, with a reason, and say that a coach asked for the view, in seven days; 0: never. */
  appealsPerWeek: number;
  askedViewsPerWeek: number;
  /** Hour of the day at which the coaches get their digest, 0..23; null: never. And the IANA zone of it and of days that coaches name. */
  digestHour: number | null;
  zone: string;
  /** Day of the week and hour of the moderators' report, in `zone`; null: never. */
  reportDay: 'monday' | 'tuesday' | 'wednesday' | 'thursday' | 'friday' | 'saturday' | 'sunday' | null;
  reportHour: number;
  /** So many takes sent back in a row call for a hand. */
  handAfterTakes: number;
  /** What a coach needs to write a correction, min; 0: not counted. */
  correctionMin: number;
  /** So many of the last clips are judged again to show what a change of the rules would do. */
  rejudgeLast: number;
  /** Who may do what, by use case id, where it differs from the use case's own. */
  may: Readonly<Record<string, 'anyone' | 'coach' | 'moderator'>>;
}

/** A picture with its alt text. */
interface Picture {
  png: Buffer;
  alt: string;
}

/** All sentences of the bot. */
export interface Words {
  reply(judgement: Judgement, facts: Facts, options: { trimmedAttached: boolean; firstTime: boolean }): string;
  /** What a new take did better; empty when there is nothing to say. */
  better(before: Judgement, after: Judgement): string;
  /** The sentence for a clip that could not be read or judged. */
  error(code: string): string;
  /** To a link to a video site: upload the file, please. */
  uploadInstead(): string;
  /** `ahead`: clips before this one, null when unknown; `share`: how much is measured, null before it began. */
  waiting(state: { ahead: number | null; share: number | null }): string;
  card(judgement: Judgement, facts: Facts, options: { name: string; startsAtS: number; threadUrl: string | null }): string;
}

/** All pictures of the bot. */
interface Draw {
  guide(lift: LiftData): Picture;
  /** Speeds of the reps of a set, beside an earlier one. Throws a RangeError when none was measured. */
  speeds(set: SetRecord, earlier: EarlierSet | null): Picture;
  placement(judgement: Judgement, facts: Facts): Picture;
  timeline(judgement: Judgement, facts: Facts): Picture;
  sheet(stills: readonly Still[], lift: LiftId | null): Picture;
}

/** Where the bot writes what the operator should know; no captions, no tokens. */
interface BotLog {
  info(details: object, text: string): void;
  warn(details: object, text: string): void;
  error(details: object, text: string): void;
}

/** All that the bot works with; nothing else is reached from src/bot. */
export interface BotDeps {
  ledger: Ledger;
  queue: Queue;
  platforms: readonly Platform[];
  /** Cuts clips and takes stills; a pool of its own, so that it does not wait for measuring. */
  runTask(task: Task, signal: AbortSignal): Promise<FinalAnswer>;
  readCaption(text: string): Fact<CaptionFacts>;
  /** `request`: a coach's wish for this member and lift, null for none. */
  judge(facts: Facts, request: ViewRequest | null): Judgement;
  /** A lift's data with the place of the phone that `judge` goes by. */
  asSet(lift: LiftData): LiftData;
  /** The rules that `judge` goes by. */
  rules: LiveRules;
  /** Id of the language that people are answered in. */
  language: string;
  words: Words;
  draw: Draw;
  settings(): BotSettings;
  /** Folder for clips and pictures until they are posted. */
  spool: string;
  /** Address of a thread for people, null where the platform has none. */
  threadUrl(message: { platform: PlatformName; channel: string; message: string; thread: string | null }): string | null;
  log: BotLog;
  nowMs(): number;
  /** 0 (included) .. 1 (excluded). */
  random(): number;
}

import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Finding } from '../rules/finding.ts';
import { placeOf } from './directions.ts';
import { languageOf } from './index.ts';
import type { About, Language, SeenClip } from './language.ts';
import { fillTemplate, saidOf, WordingError } from './template.ts';

/** Most lines of correction and advice in one reply, together. Chosen: nobody walks to the phone with more in mind. */
const mostCorrections = 3;

/** Rules whose words use left and right as directions. */
const sidedRules = new Set(['view']);

/** How a reply is to be worded. */
export interface ReplyOptions {
  /** Language code; see src/wording/index.ts. */
  language: string;
  /** A moderator's template for a message, null for the project's own words. */
  messageOverrides?: (rule: string, message: string) => string | null;
  /** The trimmed clip goes out with the reply. */
  trimmedAttached: boolean;
  /** The member has never had a reply before: cautions are said. */
  firstTime: boolean;
}

/** What sentences need besides their own numbers, `said` being all that the reply asks for. */
function aboutOf(judgement: Judgement, facts: Facts, said: readonly Finding[]): About {
  const distanceM = facts.camera.distanceM.known ? facts.camera.distanceM.value : null;
  return {
    lift: judgement.lift,
    distanceM,
    toDistanceM:
      distanceM === null ? null : (said.map((finding) => distanceAsked(finding, distanceM)).find((m) => m !== null) ?? null),
    trim: judgement.trim,
    durationS: facts.clip.known ? facts.clip.value.durationS : null,
  };
}

/** How far from the lifter a finding wants the phone, m; null where it does not speak of it. */
function distanceAsked({ rule, message, numbers }: Finding, distanceM: number): number | null {
  const of = saidOf(numbers);
  if (rule === 'distance') return Math.min(of.num('maxM'), Math.max(of.num('minM'), distanceM));
  return rule === 'lifter-size' && message === 'too-small' ? (distanceM * of.num('heightPercent')) / of.num('minPercent') : null;
}

/** What the clip shows, as far as it is known. */
export function seenOf(judgement: Judgement, facts: Facts): SeenClip {
  return {
    lift: judgement.lift,
    reps: facts.reps.known ? facts.reps.value.length : null,
    window: facts.liftWindow.known ? facts.liftWindow.value : null,
    place: facts.view.known ? placeOf(facts.view.value.azimuthDeg) : null,
  };
}

/** One finding in one line. Throws a WordingError when the message has no words, or a number that the words need is missing. */
function wordFinding(finding: Finding, about: About, language: Language, template: string | null = null): string {
  if (template !== null) {
    const values = Object.fromEntries(
      Object.entries(finding.numbers).map(([name, value]) => [name, language.value(name, value, about.lift)]),
    );
    return fillTemplate(template, values);
  }
  const id = `${finding.rule}/${finding.message}`;
  const words = Object.hasOwn(language.messages, id) ? language.messages[id] : undefined;
  if (!words) throw new WordingError('message-unknown', `no words for ${id}`);
  return words(saidOf(finding.numbers), about);
}

/** What could not be told in words, joined by reason; an id without words is left as it is. */
export function wordUnknowns(
  unknowns: Judgement['cannotTell'],
  language: Pick<Language, 'ruleNames' | 'reasons'>,
): { names: string[]; reason: string }[] {
  const byReason = new Map<string, string[]>();
  for (const { rule, reason } of unknowns)
    byReason.set(reason, [...(byReason.get(reason) ?? []), language.ruleNames[rule] ?? rule]);
  return [...byReason].map(([reason, names]) => ({ names, reason: language.reasons[reason] ?? reason }));
}

/**
 * The reply for the member in the project's small markup: verdict first, then at most three lines of correction and advice (each: what
 * was seen with its number, what to do), what could not be told, and what was seen. Throws a WordingError as `wordFinding` does.
 */
export function wordReply(judgement: Judgement, facts: Facts, options: ReplyOptions): { text: string } {
  const language = languageOf(options.language);
  const cured = (finding: Finding) => judgement.cleanByTrim && finding.rule === 'dead-time' && finding.severity === 'fix';
  const open = judgement.findings.filter((finding) => !cured(finding));
  const fixes = open.filter((finding) => finding.severity === 'fix');
  const said = [...fixes, ...open.filter((finding) => finding.severity === 'advise')].slice(0, mostCorrections);
  const about = aboutOf(judgement, facts, said);
  const lines = said.map((finding, i) => {
    const text = wordFinding(finding, about, language, options.messageOverrides?.(finding.rule, finding.message) ?? null);
    return finding.severity === 'fix' ? language.reply.correction(i + 1, text) : language.reply.optional(text);
  });
  const later = fixes.length - said.filter((finding) => finding.severity === 'fix').length;
  return {
    text: [
      head(judgement, about, language, said),
      ...(judgement.cleanByTrim ? [language.reply.trimNote(options.trimmedAttached)] : []),
      ...lines,
      ...(later > 0 ? [language.reply.fixMore(later)] : []),
      ...(judgement.verdict === 'unsure' && judgement.cannotTell.length > 0
        ? [language.reply.couldNotTell(wordUnknowns(judgement.cannotTell.slice(0, mostCorrections), language))]
        : []),
      ...(said.some((finding) => sidedRules.has(finding.rule)) ? [language.reply.sides(judgement.lift)] : []),
      [language.reply.seen(seenOf(judgement, facts)), language.reply.filmingOnly].filter((part) => part !== '').join(' '),
      ...(options.firstTime ? [language.reply.cautions] : []),
    ].join('\n'),
  };
}

function head(judgement: Judgement, about: About, language: Language, said: readonly Finding[]): string {
  if (judgement.verdict === 'fix')
    return language.reply.fixHead(Math.max(1, said.filter((finding) => finding.severity === 'fix').length));
  if (judgement.verdict === 'unsure') return language.reply.unsureHead;
  const { trim, durationS } = about;
  if (judgement.cleanByTrim && trim && durationS !== null)
    return language.reply.trimHead(trim.startS, Math.max(0, durationS - trim.endS));
  return language.reply.cleanHead;
}

/** The sentence for a clip that could not be read, by its error code. Throws a WordingError for a code without words. */
export function wordError(code: string, language: string): string {
  const text = languageOf(language).errors[code];
  if (text === undefined) throw new WordingError('message-unknown', `no words for error ${code}`);
  return text;
}

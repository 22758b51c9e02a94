import { parseCaption } from '../captions/parse.ts';
import type { LiftId } from '../facts/facts.ts';
import { judge } from '../judge/judge.ts';
import { drawOf, wordsOf } from '../main/words.ts';
import type { Timings } from '../queue/payload.ts';
import type { FinalAnswer } from '../queue/port.ts';
import type { RequestedView } from '../rules/request.ts';
import type { RulesSettings } from '../rules/settings.ts';
import { writeOutput } from './check-output.ts';
import type { CheckResult } from './check-result.ts';
import type { MeasuringPool } from './measured-clips.ts';

/** How clips are checked. `warn` gets what the operator should know. */
export interface CheckOptions {
  caption?: string | undefined;
  unitWhenSilent: 'kg' | 'lb' | null;
  lift?: LiftId | undefined;
  request?: RequestedView | undefined;
  rules: RulesSettings;
  out?: string | undefined;
  warn(text: string): void;
}

/** Measures, judges and words one clip, and with `out` writes what goes with the reply under `name`. Rejects when the pool is closed. */
export async function checkClip(
  file: string,
  name: string,
  options: CheckOptions,
  measuring: MeasuringPool,
  onProgress: (share: number, stage: string) => void,
): Promise<CheckResult> {
  const { caption, unitWhenSilent, lift: forcedLift = null, request, rules: settings, out, warn } = options;
  const log = { info() {}, warn: (_: object, text: string) => warn(text), error: (_: object, text: string) => warn(text) };
  const words = wordsOf(() => settings, log);
  const answer: FinalAnswer = await measuring.measure(file, onProgress);
  if (answer.kind !== 'facts') {
    const code = answer.kind === 'failed' ? answer.code : 'worker-died';
    return { file, error: { code, message: words.error(code) } };
  }
  const facts = { ...answer.facts, ...(caption === undefined ? {} : { caption: parseCaption(caption, { unitWhenSilent }) }) };
  const free = judge(facts, { forcedLift, settings });
  // a request is for one lift: here for the one in the clip
  const asked = request === undefined || free.lift === null ? null : { lift: free.lift, view: request };
  if (request !== undefined && asked === null)
    warn('which lift it is could not be told, so --request does not count: add --lift');
  const judgement = asked === null ? free : judge(facts, { forcedLift, request: asked, settings });
  const written =
    out === undefined
      ? { pictures: [] }
      : await writeOutput({ file, name, facts, judgement }, out, { ...measuring, draw: drawOf(() => settings) });
  if (written.failed !== undefined) warn(`the trimmed clip could not be written (${written.failed})`);
  const { trimmed, pictures } = written;
  const text = words.reply(judgement, facts, { trimmedAttached: trimmed !== undefined, firstTime: false });
  const { verdict, lift, findings } = judgement;
  const timings: Timings = answer.timings;
  const trim = trimmed === undefined ? {} : { trimmed };
  return { file, verdict, lift, findings, reply: { text, pictures }, ...trim, facts, timings };
}

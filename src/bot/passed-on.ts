import type { Facts } from '../facts/facts.ts';
import { uprightTurnDeg } from '../facts/upright.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { NewAct, Submission } from '../ledger/port.ts';
import { languageOf } from '../wording/index.ts';
import { coachCard } from './coach-channel.ts';
import type { BotDeps } from './deps.ts';
import { cutClip } from './media.ts';
import { actFor, marksAct, Payload, plain } from './payload.ts';

/** Plans what follows when a member sent a clip on that was sent back: the coaches' card, the marks, the reply without its buttons. */
export async function answerPassedOn(
  s: Submission,
  facts: Facts,
  judgement: Judgement,
  deps: BotDeps,
  signal: AbortSignal,
): Promise<void> {
  const { ledger, nowMs } = deps;
  const { member, forCoaches } = languageOf(deps.language);
  const said = (await ledger.evidence.of(s.id)).find(({ kind }) => kind === 'appeal' || kind === 'asked-view');
  const rules = new Set(judgement.findings.filter(({ severity }) => severity === 'fix').map(({ rule }) => rule));
  const note = member.cardNote({
    kind: said === undefined ? 'cut' : said.kind === 'appeal' ? 'appeal' : 'asked-view',
    reason: said?.reason ?? '',
    corrections: [...rules].map((rule) => forCoaches.ruleNames[rule] ?? rule),
  });
  const cut = await cutOf(s, facts, judgement, deps, signal);
  const key = `reply/${s.id}`;
  const reply = Payload.safeParse((await ledger.act(key))?.payload);
  const text = reply.success && reply.data.do === 'post' ? reply.data.message.text : null;
  const edited = plain(`${text}\n${member.passing.replyNote}`);
  const acts: NewAct[] = [
    marksAct(s, s.ref, 'passed-on'),
    ...(text === null
      ? []
      : [actFor(s, `passed-on/${s.id}`, { do: 'edit', platform: s.ref.platform, posted: key, message: edited })]),
    ...(await coachCard(s, facts, judgement, cut, deps, signal, note)),
  ];
  await ledger.move(s.id, ['judged'], 'answering', nowMs(), { trimmedPath: cut }, acts);
}

/** The clip as the bot cuts it: trimmed where that helps, upright; null where the posted one is as good. */
async function cutOf(
  s: Submission,
  facts: Facts,
  judgement: Judgement,
  deps: BotDeps,
  signal: AbortSignal,
): Promise<string | null> {
  const whole = facts.clip.known && uprightTurnDeg(facts) !== 0 ? { startS: 0, endS: facts.clip.value.durationS } : null;
  const part = judgement.trim ?? whole;
  const maxBytes = deps.platforms.find(({ name }) => name === s.ref.platform)?.maxFileBytes ?? 0;
  return part === null ? null : cutClip(s, facts, part, maxBytes, deps, signal);
}

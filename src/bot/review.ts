import { Judgement } from '../judge/judgement.ts';
import type { NewAct, Submission } from '../ledger/port.ts';
import type { OutgoingFile } from '../platforms/port.ts';
import type { FinalAnswer } from '../queue/port.ts';
import { languageOf } from '../wording/index.ts';
import { coachCard } from './coach-channel.ts';
import type { BotDeps } from './deps.ts';
import { replyButtons } from './desk/member/reply-buttons.ts';
import { JudgeError, judgeClip } from './judge-clip.ts';
import { cutClip, picturesOf } from './media.ts';
import { answerPassedOn } from './passed-on.ts';
import { actFor, marksAct, plain, progressKey, progressRemoval } from './payload.ts';
import { leftOf, viewRequestOf } from './view-request.ts';

/** Keeps what the queue found: facts are judged, a clip that cannot be read fails, one that killed its process twice is set aside. */
export async function keepResult(id: string, answer: FinalAnswer, deps: BotDeps): Promise<void> {
  const { ledger, log, nowMs } = deps;
  const s = await ledger.submission(id);
  if (s === null) return log.warn({ id }, 'a result of a clip that the ledger does not know');
  const from = ['spooled', 'queued', 'measuring'] as const;
  if (answer.kind !== 'facts') {
    const code = answer.kind === 'failed' ? answer.code : 'worker-died';
    log.warn({ id, code, detail: answer.kind === 'failed' ? answer.detail : answer.kind }, 'a clip could not be measured');
    await ledger.move(id, [...from], code === 'worker-died' ? 'set-aside' : 'failed', nowMs(), { errorCode: code });
    return;
  }
  if (!from.some((state) => state === s.state)) return; // told twice
  const facts = { ...answer.facts, caption: deps.readCaption(s.caption) };
  let found: Awaited<ReturnType<typeof judgeClip>>;
  try {
    found = await judgeClip(s, facts, deps);
  } catch (error) {
    if (!(error instanceof JudgeError)) throw error;
    log.error({ id, error: String(error.cause), final: true }, 'a clip could not be judged');
    await ledger.move(id, [...from], 'failed', nowMs(), { facts, errorCode: 'worker-died' });
    return;
  }
  const { judgement, rulesVersion, request } = found;
  const { verdict } = judgement;
  const change = { facts, judgement, verdict, request, rulesVersion, timings: answer.timings };
  if (await ledger.move(id, [...from], 'judged', nowMs(), change))
    log.info({ id, verdict, timings: answer.timings }, 'a clip was judged');
}

/** Plans the whole answer to a judged or failed clip: reply, marks of all its takes, end of the progress message, coach's card. */
export async function answer(s: Submission, deps: BotDeps, signal: AbortSignal): Promise<void> {
  const { ledger, nowMs } = deps;
  const judgement = s.judgement === null ? null : Judgement.parse(s.judgement);
  if (judgement?.verdict === 'fix' && s.facts !== null && (await ledger.desk.entry(s.id)) !== null)
    return answerPassedOn(s, s.facts, judgement, deps, signal);
  const made =
    judgement === null || s.facts === null
      ? { text: deps.words.error(s.errorCode ?? 'worker-died'), files: [], card: [], cut: null, firstTime: false }
      : await judged(s, s.facts, judgement, deps, signal);
  if (judgement !== null && judgement.verdict !== 'fix') await ledger.desk.put(s.id, s.ref.platform, nowMs());
  const to = { channel: s.ref.channel, message: s.ref };
  const buttons = judgement === null ? [] : replyButtons(s, judgement, deps);
  const message = { ...plain(made.text), files: made.files, buttons };
  const takes = (await ledger.inLane(s.lane)).filter((take) => take.root === s.root);
  const marked = new Map([...takes, s].map((take) => [take.ref.message, take.ref]));
  const acts: NewAct[] = [
    actFor(s, `reply/${s.id}`, { do: 'post', platform: s.ref.platform, to, message }, { essential: true }),
    ...[...marked.values()].map((ref) => marksAct(s, ref, 'answer')),
    ...((await ledger.act(progressKey(s.id))) === null ? [] : [progressRemoval(s, s.ref.platform)]),
    ...made.card,
  ];
  await ledger.move(
    s.id,
    ['judged', 'failed', 'set-aside'],
    'answering',
    nowMs(),
    { trimmedPath: made.cut, cautions: made.firstTime },
    acts,
  );
}

/** That a clip was judged by a coach's wish, and what is left of it; empty when it was not. */
async function judgedBy(s: Submission, passed: boolean, deps: BotDeps): Promise<string> {
  const stored = s.request === null ? null : await deps.ledger.requests.find(s.request);
  const asked = stored === null ? null : viewRequestOf(stored);
  if (stored === null || asked === null) return '';
  const { coach, lifts } = languageOf(deps.language);
  const left = stored.closedMs !== null && stored.clipsLeft !== 0 ? null : leftOf(stored, deps);
  return coach.judgedBy({ coach: stored.byName, liftName: lifts[asked.lift], view: asked.view, left, passed });
}

async function judged(
  s: Submission,
  facts: NonNullable<Submission['facts']>,
  judgement: Judgement,
  deps: BotDeps,
  signal: AbortSignal,
) {
  const platform = deps.platforms.find((one) => one.name === s.ref.platform);
  const maxBytes = platform?.maxFileBytes ?? 0;
  const passes = judgement.verdict !== 'fix';
  const cut = passes && judgement.trim !== null ? await cutClip(s, facts, judgement.trim, maxBytes, deps, signal) : null;
  const before = s.takeOf === null ? null : await deps.ledger.submission(s.takeOf);
  const better =
    before === null || before.judgement === null ? '' : deps.words.better(Judgement.parse(before.judgement), judgement);
  const firstTime = (await deps.ledger.members.get(s.ref.platform, s.authorId)).cautionedMs === null;
  const reply = deps.words.reply(judgement, facts, { trimmedAttached: cut !== null, firstTime });
  const clip: OutgoingFile[] = cut === null ? [] : [{ path: cut, name: 'trimmed.mp4', alt: null }];
  return {
    text: [reply, better, await judgedBy(s, passes, deps)].filter((part) => part !== '').join('\n'),
    files: [...(await picturesOf(s, facts, judgement, deps)), ...clip],
    card: passes ? await coachCard(s, facts, judgement, cut, deps, signal) : [],
    cut,
    firstTime,
  };
}

import { stat } from 'node:fs/promises';
import { extname } from 'node:path';
import type { Facts } from '../facts/facts.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { NewAct, Submission } from '../ledger/port.ts';
import type { OutgoingFile } from '../platforms/port.ts';
import { cardLines } from './card-lines.ts';
import { cardRecord } from './card-record.ts';
import type { BotDeps } from './deps.ts';
import { cardButtons, cardKey } from './desk/coach/card.ts';
import { cutClip, sheetOf } from './media.ts';
import { actFor, plain } from './payload.ts';

/** Earlier clips among which one of the same load is looked for. Chosen: some weeks of one lift. */
const mostEarlier = 20;

/** The clip to show: the trimmed one, else the posted one, else the posted one made small enough. */
async function clipFile(
  s: Submission,
  facts: Facts,
  cut: string | null,
  deps: BotDeps,
  signal: AbortSignal,
): Promise<OutgoingFile | null> {
  if (cut !== null) return { path: cut, name: 'trimmed.mp4', alt: null };
  if (s.clipPath === null) return null;
  const maxBytes = deps.platforms.find((one) => one.name === s.ref.platform)?.maxFileBytes ?? 0;
  const found = await stat(s.clipPath).catch(() => null);
  if (found === null) return null;
  const ending = extname(s.file.name).toLowerCase();
  if (found.size <= maxBytes) return { path: s.clipPath, name: `clip${/^\.\w{1,5}$/.test(ending) ? ending : '.mp4'}`, alt: null };
  if (!facts.clip.known) return null;
  const small = await cutClip(s, facts, { startS: 0, endS: facts.clip.value.durationS }, maxBytes, deps, signal);
  return small === null ? null : { path: small, name: 'clip.mp4', alt: null };
}

/** The card of a clean or unsure clip for the coaches' channel of its platform; nothing when there is no such channel. `note`: one more line. */
export async function coachCard(
  s: Submission,
  facts: Facts,
  judgement: Judgement,
  cut: string | null,
  deps: BotDeps,
  signal: AbortSignal,
  note: string | null = null,
): Promise<NewAct[]> {
  const settings = deps.settings();
  const { platform } = s.ref;
  const channel = settings.coachChannel[platform];
  if (channel === undefined) return [];
  const startsAtS = cut === null ? 0 : (judgement.trim?.startS ?? 0);
  const text = deps.words.card(judgement, facts, { name: s.authorName, startsAtS, threadUrl: deps.threadUrl(s.ref) });
  const sheet = await sheetOf(s, facts, judgement, deps, signal).catch((error: unknown) => {
    if (signal.aborted) throw error;
    deps.log.error({ id: s.id, error: String(error) }, 'a contact sheet could not be made');
    return null;
  });
  const earlier = judgement.lift === null ? [] : await deps.ledger.desk.earlierOf(s, judgement.lift, mostEarlier);
  const record = await cardRecord(s, facts, judgement, earlier, deps);
  const files = [sheet, record.chart, await clipFile(s, facts, cut, deps, signal)].filter((file) => file !== null);
  const role = settings.coachMention[platform];
  const mayMention =
    role !== undefined && (await deps.ledger.atMostEvery(`mention/${platform}`, settings.mentionEveryMin * 60_000, deps.nowMs()));
  const lines = [text, ...record.lines, ...(await cardLines(s, earlier, deps)), ...(note === null ? [] : [note])];
  const buttons = cardButtons(s.id, 'waiting', deps);
  const message = { ...plain(lines.join('\n')), files, buttons, mention: mayMention ? role : null };
  return [
    actFor(s, cardKey(s.id), { do: 'post', platform, to: { channel, message: null }, message }, { lane: `coach/${platform}` }),
  ];
}

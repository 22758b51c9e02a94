import type { NewSubmission } from '../ledger/port.ts';
import type { IncomingMessage } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { isClip, laneOf, linksToVideo, submissionIdOf } from './ids.ts';
import { marksAct, plain } from './payload.ts';
import { quotedName } from './quoted.ts';

type Deps = Pick<BotDeps, 'ledger' | 'words' | 'settings' | 'log' | 'nowMs'>;

const dayMs = 24 * 3_600_000;
const clockMs = 3_600_000; // how far the platform's clock may be ahead

/** Whether a message stands in a watched channel or a thread of one. */
export function isWatched(message: IncomingMessage, settings: ReturnType<BotDeps['settings']>): boolean {
  const watched = settings.watched[message.ref.platform] ?? [];
  return watched.includes(message.ref.channel) || (message.threadStart !== null && watched.includes(message.threadStart.channel));
}

/** Whether a clip of this message may have been answered so long ago that the ledger knows nothing of it any more. */
function isForgotten(message: IncomingMessage, { factsDays }: ReturnType<BotDeps['settings']>, nowMs: number): boolean {
  return factsDays !== null && message.sentAtMs <= nowMs - factsDays * dayMs + clockMs;
}

/**
 * Takes a message in: a submission for each clip that is not known yet, with the mark *seen*; one sentence to a link to a video site.
 * Everything else is left alone. True when there is something to do now.
 */
export async function takeIn(message: IncomingMessage, deps: Deps): Promise<boolean> {
  const { ledger, words, settings, log, nowMs } = deps;
  if (message.author.isBot || !isWatched(message, settings())) return false;
  if (isForgotten(message, settings(), nowMs())) return false;
  const clips = message.files.filter(isClip);
  const lane = laneOf(message);
  if (clips.length === 0) {
    if (message.files.length > 0 || !linksToVideo(message.text)) return false;
    if (await isUnderClipOfAnother(message, lane, deps)) return false; // mostly a coach who shows something
    const { ref } = message;
    const to = { channel: ref.channel, message: ref };
    const payload = { do: 'post', platform: ref.platform, to, message: plain(words.uploadInstead()) };
    const key = `link/${ref.platform}/${ref.channel}/${ref.message}`;
    await ledger.plan([{ key, lane, submission: null, payload, essential: false }], nowMs());
    return true;
  }
  let took = false;
  for (const file of clips) {
    const id = submissionIdOf(message.ref, file);
    const earlier = message.threadStart === null ? null : await takeBefore(message, lane, id, deps);
    const submission: NewSubmission = {
      id,
      ref: message.ref,
      lane,
      file,
      takeOf: earlier?.id ?? null,
      root: earlier?.root ?? id,
      authorId: message.author.id,
      authorName: quotedName(message.author),
      caption: message.text,
      sentMs: message.sentAtMs,
    };
    const received = await ledger.receive(submission, [marksAct(submission, message.ref, 'seen')], nowMs());
    if (received) log.info({ id, takeOf: submission.takeOf }, 'a clip was received');
    took ||= received;
  }
  return took;
}

/** Whether a thread is about clips, none of them of this message's author. */
async function isUnderClipOfAnother({ author, threadStart }: IncomingMessage, lane: string, { ledger }: Deps): Promise<boolean> {
  if (threadStart === null) return false;
  const clips = await ledger.inLane(lane);
  return clips.length > 0 && !clips.some((s) => s.authorId === author.id);
}

/** The member's clip in this thread that a new one is a take of: the last that was sent back and has no newer take, else their last. */
async function takeBefore(message: IncomingMessage, lane: string, id: string, { ledger }: Deps) {
  const others = (await ledger.inLane(lane)).filter(
    (s) => s.authorId === message.author.id && s.ref.message !== message.ref.message && s.id !== id,
  );
  const hasNewer = new Set(others.map((s) => s.takeOf));
  return others.findLast((s) => s.verdict === 'fix' && !hasNewer.has(s.id)) ?? others.at(-1) ?? null;
}

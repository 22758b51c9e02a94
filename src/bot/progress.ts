import { longestWaitMs } from '../ledger/port.ts';
import { PlatformError } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { type Loop, startLoop } from './loop.ts';
import { actFor, plain, progressKey } from './payload.ts';
import { waitingText } from './waiting.ts';

const everyMs = 1000; // chosen: the least time between two edits that can be set
/** Oldest waiting clips that are looked at; in a flood the later ones get their message when they come near. Chosen. */
const mostWatched = 200;
const mostPlanned = 5; // new messages a round, so that answers are not kept waiting behind them; chosen
const mostLookedAt = 25; // clips a round whose text may have changed; chosen: Slack takes about one message a second in a channel (Slack docs, rate limits)

/**
 * Shows a clip that waits long its place and progress: one message, planned as an act, then edited. Edits are not acts: a lost one is
 * made up by the next. At most one edit a platform each `progressEditEveryS`, the one that waited longest first.
 */
export function startProgress(
  deps: BotDeps,
  shares: ReadonlyMap<string, number>,
  onPlanned: () => void,
  signal: AbortSignal,
): Loop {
  const { ledger, log, nowMs, settings } = deps;
  const shown = new Map<string, { text: string; atMs: number }>();
  const editedMs = new Map<string, number>();
  const known = new Set<string>();

  async function step(): Promise<number> {
    const { progressAfterS, progressEditEveryS } = settings();
    const waiting = await ledger.waiting(nowMs() - progressAfterS * 1000, mostWatched);
    const ids = new Set(waiting.map((s) => s.id));
    for (const id of [...known]) {
      if (ids.has(id)) continue;
      known.delete(id);
      shown.delete(id);
    }
    const fresh = waiting.filter((s) => !known.has(s.id)).slice(0, mostPlanned);
    await ledger.plan(
      fresh.map((s) => actFor(s, progressKey(s.id), { do: 'progress', on: s.ref })),
      nowMs(),
    );
    for (const s of fresh) known.add(s.id);
    if (fresh.length > 0) onPlanned();
    const places = deps.queue.places(); // once a round: it sorts the queue
    const queue = { ...deps.queue, places: () => places };
    const oldest = waiting
      .filter((s) => known.has(s.id))
      .sort((a, b) => (shown.get(a.id)?.atMs ?? 0) - (shown.get(b.id)?.atMs ?? 0));
    for (const platform of deps.platforms) {
      const sinceMs = nowMs() - (editedMs.get(platform.name) ?? 0);
      const wasSetBack = sinceMs < -longestWaitMs; // the clock
      if (sinceMs < progressEditEveryS * 1000 && !wasSetBack) continue;
      for (const s of oldest.filter((one) => one.ref.platform === platform.name).slice(0, mostLookedAt)) {
        const text = await waitingText(s.id, { ...deps, queue, shares });
        if (text === null) continue;
        if (text === shown.get(s.id)?.text) {
          shown.set(s.id, { text, atMs: nowMs() });
          continue;
        }
        const posted = await ledger.act(progressKey(s.id));
        if (posted?.state !== 'done' || posted.ref === null) continue;
        editedMs.set(platform.name, nowMs());
        shown.set(s.id, { text, atMs: nowMs() });
        await platform.edit(posted.ref, plain(text), signal).catch((error: unknown) => {
          if (!(error instanceof PlatformError)) throw error;
          const { retryAfterMs } = error.retry;
          if (retryAfterMs !== null) editedMs.set(platform.name, nowMs() + Math.min(retryAfterMs, longestWaitMs));
          log.info({ id: s.id, code: error.code }, 'progress could not be shown');
        });
        break;
      }
    }
    return everyMs;
  }
  return startLoop(step, (error) => log.error({ error: String(error) }, 'progress cannot be shown'), signal);
}

import { longestWaitMs } from '../ledger/port.ts';
import { PlatformError } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { type Loop, startLoop } from './loop.ts';
import { actFor, plain, progressKey } from './payload.ts';
import { waitingText } from './waiting.ts';

const everyMs = 1000;

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
    const waiting = await ledger.waiting(nowMs() - progressAfterS * 1000);
    const ids = new Set(waiting.map((s) => s.id));
    for (const id of [...known]) {
      if (ids.has(id)) continue;
      known.delete(id);
      shown.delete(id);
    }
    const fresh = waiting.filter((s) => !known.has(s.id));
    await ledger.plan(
      fresh.map((s) => actFor(s, progressKey(s.id), { do: 'progress', on: s.ref })),
      nowMs(),
    );
    for (const s of fresh) known.add(s.id);
    if (fresh.length > 0) onPlanned();
    const oldest = [...waiting].sort((a, b) => (shown.get(a.id)?.atMs ?? 0) - (shown.get(b.id)?.atMs ?? 0));
    for (const platform of deps.platforms) {
      const sinceMs = nowMs() - (editedMs.get(platform.name) ?? 0);
      const wasSetBack = sinceMs < -longestWaitMs; // the clock
      if (sinceMs < progressEditEveryS * 1000 && !wasSetBack) continue;
      for (const s of oldest.filter((one) => one.ref.platform === platform.name)) {
        const text = await waitingText(s.id, { ...deps, shares });
        if (text === null || text === shown.get(s.id)?.text) continue;
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

import { setTimeout as wait } from 'node:timers/promises';
import { longestWaitMs, type SubmissionState } from '../ledger/port.ts';
import type { BotDeps } from './deps.ts';
import { fetchClip } from './fetch-clip.ts';
import { afterErrorMs, backoffMs, type Loop, startLoop } from './loop.ts';
import { removeSpooled } from './retention.ts';
import { answer } from './review.ts';

/** What waits for the network has places of its own, so that neither fetching nor answering holds up the other. */
const kinds: { states: SubmissionState[]; most: number }[] = [
  { states: ['received', 'spooled'], most: 6 },
  { states: ['judged', 'failed', 'set-aside'], most: 4 },
];
const mostListed = 50; // of a state at once; chosen: a few times those that are worked on
const lookMs = 5000; // chosen: kicks do the work, this finds what no kick told of

/** Moves submissions on: fetches, enqueues, answers. Everything it knows is in the ledger, so it can stop and go on at any step. */
export function startPipeline(deps: BotDeps, onPlanned: () => void, signal: AbortSignal): Loop {
  const { ledger, log, nowMs, settings, random } = deps;

  async function advance(id: string, states: readonly SubmissionState[]): Promise<void> {
    const s = await ledger.submission(id);
    if (s === null || !states.includes(s.state)) return; // the list may be old
    const leftMs = s.notBeforeMs - nowMs();
    if (leftMs > 0 && leftMs <= longestWaitMs) return;
    try {
      if (s.state === 'received') await fetchClip(s, deps, signal);
      else if (s.state === 'spooled') {
        await enqueue(id, deps);
        await ledger.move(id, ['spooled'], 'queued', nowMs());
      } else if (s.state === 'judged' || s.state === 'failed' || s.state === 'set-aside') {
        await answer(s, deps, signal);
        onPlanned();
      }
      // It was forgotten meanwhile.
      if ((await ledger.submission(id)) === null) await removeSpooled(deps.spool, id);
    } catch (error) {
      if (signal.aborted) return;
      const attempts = s.attempts + 1;
      log.error({ id, state: s.state, error: String(error), attempts }, 'a submission could not be moved on');
      await ledger.move(id, [s.state], s.state, nowMs(), {
        attempts,
        notBeforeMs: nowMs() + backoffMs(null, settings().retryAfterMs, attempts, random),
      });
    }
  }

  const loops = kinds.map(({ states, most }): Loop => {
    const busy = new Map<string, Promise<void>>();
    let listed: string[] = []; // asked for again only when it is used up
    const loop = startLoop(
      async () => {
        if (!listed.some((id) => !busy.has(id))) listed = await ledger.due(nowMs(), mostListed, states);
        const free = listed.filter((id) => !busy.has(id)).slice(0, Math.max(0, most - busy.size));
        listed = listed.filter((id) => !free.includes(id));
        for (const id of free) {
          const one = advance(id, states)
            .catch(async (error: unknown) => {
              log.error({ id, error: String(error) }, 'the ledger could not be written');
              await wait(afterErrorMs, undefined, { signal }).catch(() => {});
            })
            .finally(() => {
              busy.delete(id);
              kick();
            });
          busy.set(id, one);
        }
        const nextMs = await ledger.nextDueMs(nowMs());
        return nextMs === null ? lookMs : Math.min(lookMs, Math.max(0, nextMs - nowMs()));
      },
      (error) => log.error({ error: String(error) }, 'the ledger cannot be read'),
      signal,
    );
    return { kick: loop.kick, ended: loop.ended.then(async () => void (await Promise.allSettled([...busy.values()]))) };
  });
  const kick = () => {
    for (const loop of loops) loop.kick();
  };
  return { kick, ended: Promise.all(loops.map(({ ended }) => ended)).then(() => {}) };
}

/** Hands a spooled clip to the queue; repeating is harmless. */
export async function enqueue(
  id: string,
  { ledger, queue, settings }: Pick<BotDeps, 'ledger' | 'queue' | 'settings'>,
): Promise<void> {
  const s = await ledger.submission(id);
  if (s === null || s.clipPath === null) return;
  await queue.enqueue({ id, member: `${s.ref.platform}/${s.authorId}`, file: s.clipPath, limits: settings().limits });
}

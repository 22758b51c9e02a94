import { setTimeout as wait } from 'node:timers/promises';
import { type Act, longestWaitMs, type StoredRef } from '../ledger/port.ts';
import { type Platform, PlatformError, type PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { isHostTrouble } from './host-trouble.ts';
import { afterErrorMs, backoffMs, type Loop, startLoop } from './loop.ts';
import { marksNow } from './marks.ts';
import { erasing, Payload, plain, progressRemoval } from './payload.ts';
import { waitingText } from './waiting.ts';

const most = 16; // acts at once; chosen: enough that a slow platform holds up no other, few beside any rate limit
const mostUnexpected = 10; // tries of an act whose error the adapter did not explain
const mostListed = 500; // due acts read at once; chosen: many times those at work, so that the lanes can take turns
const lookMs = 5000; // chosen: kicks do the work, this finds what no kick told of

type Deps = Pick<BotDeps, 'ledger' | 'platforms' | 'words' | 'queue' | 'settings' | 'log' | 'nowMs' | 'random'>;

/**
 * Does what the ledger has planned: each act is noted before and after, repeated until it is done or can never be, in order within its
 * lane. After a crash between the two notes it is done again under the same key, and the platform finds the earlier post.
 */
export function startActRunner(deps: Deps, onEnded: (act: Act) => void, signal: AbortSignal): Loop {
  const { ledger, words, queue, log, nowMs, random, settings } = deps;
  const busy = new Map<string, Promise<void>>();
  const pausedUntilMs = new Map<PlatformName, number>();
  const platformOf = (name: PlatformName): Platform => {
    const found = deps.platforms.find((platform) => platform.name === name);
    if (found === undefined)
      throw new PlatformError('unreachable', `${name} is not set up`, { final: false, retryAfterMs: null });
    return found;
  };
  const nameOf = (payload: Payload): PlatformName => ('on' in payload ? payload.on.platform : payload.platform);

  async function perform(act: Act, payload: Payload): Promise<StoredRef | null> {
    const platform = platformOf(nameOf(payload));
    if (payload.do === 'post') return platform.post(payload.to, payload.message, act.key, signal);
    if (payload.do === 'marks') {
      await platform.setMarks(payload.on, await marksNow(payload.on.message, act.lane, ledger), signal);
      return null;
    }
    if (payload.do === 'progress') {
      const id = act.submission ?? '';
      const text = await waitingText(id, { ledger, queue, words, shares: new Map() });
      if (text === null) {
        if (act.attempts === 0) return null;
        // A try may have arrived: it is posted (that is, found) all the same and removed, also when its answer was planned before this act.
        await ledger.plan([progressRemoval({ id, lane: act.lane }, payload.on.platform)], nowMs());
      }
      return platform.post(
        { channel: payload.on.channel, message: payload.on },
        plain(text ?? words.waiting({ ahead: null, share: null })),
        act.key,
        signal,
      );
    }
    if (payload.do === 'erase') {
      if (payload.what === 'post') await platform.remove(payload.on, signal);
      else await platform.setMarks(payload.on, [], signal);
      return null;
    }
    const posted = await ledger.act(payload.posted);
    if (posted?.ref && payload.do === 'edit') await platform.edit(posted.ref, payload.message, signal);
    else if (posted?.ref) await platform.remove(posted.ref, signal);
    return null;
  }

  async function run(listed: Act): Promise<void> {
    // The list may be older than the end of the lane's last act.
    const act = await ledger.act(listed.key);
    if (act === null || act.state === 'done' || act.state === 'failed') return;
    const leftMs = act.notBeforeMs - nowMs();
    if (leftMs > 0 && leftMs <= longestWaitMs) return;
    const payload = Payload.parse(act.payload);
    await ledger.beginAct(act.key, nowMs());
    let ref: StoredRef | null;
    try {
      ref = await perform(act, payload);
    } catch (error) {
      if (signal.aborted) return;
      const known = error instanceof PlatformError ? error : null;
      const attempts = act.attempts + 1;
      const text = error instanceof Error ? error.message : String(error);
      const isHopeless = known === null && attempts >= mostUnexpected && !isHostTrouble(error);
      if (known?.retry.final || isHopeless) {
        log.error({ act: act.key, code: known?.code, error: text, attempts, final: true }, 'an act cannot be done');
        await ledger.endAct(act.key, { error: text }, nowMs());
        onEnded(act);
        return;
      }
      const waitMs = backoffMs(known?.retry.retryAfterMs ?? null, settings().retryAfterMs, attempts, random);
      // Both go for the whole platform; `forbidden` that may pass is a token that was revoked.
      if (known?.code === 'rate-limited' || known?.code === 'forbidden') pausedUntilMs.set(nameOf(payload), nowMs() + waitMs);
      log.warn({ act: act.key, code: known?.code, error: text, attempts, waitMs }, 'an act is tried again');
      await ledger.postponeAct(act.key, nowMs() + waitMs, text, nowMs());
      return;
    }
    await ledger.endAct(act.key, { ref }, nowMs());
    // Its clip was forgotten meanwhile.
    if (ref !== null && (await ledger.act(act.key)) === null) await ledger.plan([erasing(ref, 'post', act.key)], nowMs());
    onEnded(act);
  }

  const paused = (act: Act) => {
    const leftMs = (pausedUntilMs.get(nameOf(Payload.parse(act.payload))) ?? 0) - nowMs();
    return leftMs > 0 && leftMs <= longestWaitMs; // more: the clock was set back
  };
  const isFree = (act: Act) => !busy.has(act.lane) && (pausedUntilMs.size === 0 || !paused(act));
  let listed: Act[] = []; // asked for again only when it is used up: with thousands of open acts it costs
  const loop = startLoop(
    async () => {
      if (!listed.some(isFree)) listed = await ledger.dueActs(nowMs(), mostListed);
      const free = new Set<Act>();
      for (const act of listed) {
        if (busy.size + free.size >= most) break;
        if (isFree(act)) free.add(act);
      }
      if (free.size > 0) listed = listed.filter((act) => !free.has(act));
      for (const act of free) {
        const one = run(act)
          .catch(async (error: unknown) => {
            if (!signal.aborted) log.error({ act: act.key, error: String(error) }, 'an act could not be noted');
            await wait(afterErrorMs, undefined, { signal }).catch(() => {});
          })
          .finally(() => {
            busy.delete(act.lane);
            loop.kick();
          });
        busy.set(act.lane, one);
      }
      const times = [(await ledger.nextDueMs(nowMs())) ?? Number.POSITIVE_INFINITY, ...pausedUntilMs.values()];
      return Math.min(lookMs, ...times.map((ms) => ms - nowMs()).filter((ms) => ms > 0));
    },
    (error) => log.error({ error: String(error) }, 'acts cannot be read'),
    signal,
  );
  return { kick: loop.kick, ended: loop.ended.then(async () => void (await Promise.allSettled([...busy.values()]))) };
}

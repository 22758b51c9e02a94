import type { ActionReply, PlatformEvents, PlatformName } from '../platforms/port.ts';
import { startActRunner } from './act-runner.ts';
import type { BotDeps } from './deps.ts';
import { backoffMs, type Loop, startLoop } from './loop.ts';
import { enqueue, startPipeline } from './pipeline.ts';
import { startProgress } from './progress.ts';
import { createReader } from './resume.ts';
import { keepResult } from './review.ts';

export interface Bot {
  /** Starts queue, work and platforms, and goes on with whatever was under way. Rejects when a platform cannot be started. */
  start(): Promise<void>;
  /** Takes nothing new, lets what runs end for up to `graceMs`, hands the rest back to ledger and queue. */
  stop(graceMs: number): Promise<void>;
}

/** The bot over its ports. All its memory is the ledger and the spool folder, so it may be killed at any step. */
export function createBot(deps: BotDeps): Bot {
  const { ledger, queue, platforms, log, nowMs, random, settings } = deps;
  const ended = new AbortController();
  const { signal } = ended;
  const shares = new Map<string, number>();
  const gaps = new Map<PlatformName, { attempts: number; notBeforeMs: number }>();
  let loops: Loop[] = [];

  async function start(): Promise<void> {
    const acts = startActRunner(deps, () => {}, signal);
    const pipeline = startPipeline(deps, acts.kick, signal);
    const progress = startProgress(deps, shares, acts.kick, signal);
    const taken = () => {
      acts.kick();
      pipeline.kick();
    };
    const reader = createReader(deps, taken);
    const gapLoop = startLoop(
      async () => {
        for (const [name, gap] of gaps) {
          const platform = platforms.find((one) => one.name === name);
          if (platform === undefined || gap.notBeforeMs > nowMs()) continue;
          gaps.delete(name);
          await reader.backfill(platform, signal).catch((error: unknown) => {
            if (signal.aborted) return;
            const attempts = gap.attempts + 1;
            log.warn({ platform: name, error: String(error), attempts }, 'a gap could not be read, it is tried again');
            gaps.set(name, { attempts, notBeforeMs: nowMs() + backoffMs(settings().retryAfterMs, attempts, random) });
          });
        }
        return gaps.size === 0 ? null : Math.max(10, Math.min(...[...gaps.values()].map((gap) => gap.notBeforeMs)) - nowMs());
      },
      (error) => log.error({ error: String(error) }, 'gaps cannot be read'),
      signal,
    );
    loops = [acts, pipeline, progress, gapLoop];
    const openGap = (name: PlatformName, attempts: number) => {
      gaps.set(name, {
        attempts,
        notBeforeMs: attempts === 0 ? 0 : nowMs() + backoffMs(settings().retryAfterMs, attempts, random),
      });
      gapLoop.kick();
    };
    await queue.start(
      {
        onStarted: (id) =>
          void ledger
            .move(id, ['queued'], 'measuring', nowMs())
            .catch((error: unknown) => log.warn({ id, error: String(error) }, 'the start of a clip could not be noted')),
        onProgress: (id, share) => void shares.set(id, share),
        async onResult(id, answer) {
          await keepResult(id, answer, deps);
          shares.delete(id);
          pipeline.kick();
        },
      },
      signal,
    );
    for (const id of await ledger.inState(['queued', 'measuring'])) await enqueue(id, deps);
    const events: PlatformEvents = {
      async onMessage(message) {
        await reader.live(message).catch((error: unknown) => {
          log.error({ platform: message.ref.platform, error: String(error) }, 'a message could not be kept, it is read again');
          openGap(message.ref.platform, 1);
        });
      },
      onAction: async (): Promise<ActionReply> => ({ kind: 'nothing' }),
      onGap: async (name) => openGap(name, 0),
    };
    for (const platform of platforms) await platform.start(events, [], signal);
  }

  return {
    start,
    async stop(graceMs) {
      await queue.stop(graceMs);
      ended.abort(new Error('the bot stops'));
      await Promise.allSettled(loops.map((loop) => loop.ended));
      await Promise.allSettled(platforms.map((platform) => platform.stop()));
    },
  };
}

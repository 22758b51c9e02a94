import { setMaxListeners } from 'node:events';
import type { PlatformEvents, PlatformName } from '../platforms/port.ts';
import { startActRunner } from './act-runner.ts';
import type { BotDeps } from './deps.ts';
import { startDigest } from './desk/coach/digest.ts';
import { createDesk } from './desk/desk.ts';
import { useCases } from './desk/index.ts';
import { startGaps } from './gaps.ts';
import type { Loop } from './loop.ts';
import { enqueue, startPipeline } from './pipeline.ts';
import { createPlatformStates, type PlatformCondition } from './platform-states.ts';
import { startProgress } from './progress.ts';
import { createReader } from './resume.ts';
import { startRetention, sweepSpool } from './retention.ts';
import { keepResult } from './review.ts';
import { startPlatforms } from './start-platforms.ts';
import { startWeeklyReport } from './weekly-report.ts';

const startPatienceMs = 10_000; // chosen: a healthy platform is up by then, and the others wait no longer for one that is not

export interface Bot {
  /**
   * Starts queue, work and platforms, and goes on with whatever was under way. A platform that cannot be reached is tried again beside the
   * others; rejects when none of them can ever be started.
   */
  start(): Promise<void>;
  /** How each platform is. */
  platforms(): Partial<Record<PlatformName, PlatformCondition>>;
  /** Takes nothing new, lets what runs end for up to `graceMs`, hands the rest back to ledger and queue. */
  stop(graceMs: number): Promise<void>;
}

/** The bot over its ports. All its memory is the ledger and the spool folder, so it may be killed at any step. */
export function createBot(given: BotDeps): Bot {
  const { ledger, queue, log, nowMs } = given;
  const states = createPlatformStates(
    given.platforms.map(({ name }) => name),
    log,
  );
  const platforms = given.platforms.map(states.watch);
  const deps: BotDeps = { ...given, platforms };
  const ended = new AbortController();
  const { signal } = ended;
  setMaxListeners(50, signal); // each loop listens to it
  const shares = new Map<string, number>();
  let loops: Pick<Loop, 'ended'>[] = [];

  async function start(): Promise<void> {
    await sweepSpool(deps);
    const acts = startActRunner(deps, () => {}, signal);
    const pipeline = startPipeline(deps, acts.kick, signal);
    const progress = startProgress(deps, shares, acts.kick, signal);
    const taken = () => {
      acts.kick();
      pipeline.kick();
    };
    const reader = createReader(deps, taken);
    const gaps = startGaps(deps, reader, signal);
    const week = startWeeklyReport(deps, acts.kick, signal);
    loops = [acts, pipeline, progress, gaps, week, startRetention(deps, signal)];
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
    const desk = createDesk(useCases, deps, taken);
    const events: PlatformEvents = {
      async onMessage(message) {
        await reader.live(message).catch((error: unknown) => {
          log.error({ platform: message.ref.platform, error: String(error) }, 'a message could not be kept, it is read again');
          gaps.open(message.ref.platform, 1);
        });
      },
      onAction: desk.onAction,
      onGap: async (name) => gaps.open(name, 0),
      onLine: (name, fault) =>
        states.line(name, fault === null ? 'up' : fault.retry.final ? 'refused' : 'unreachable', fault?.message ?? null),
    };
    const starts = startPlatforms(deps, states, events, desk.commands, startPatienceMs, signal);
    loops.push(starts, startDigest(deps, acts.kick, signal));
    await starts.first;
  }

  return {
    start,
    platforms: states.now,
    async stop(graceMs) {
      await queue.stop(graceMs);
      ended.abort(new Error('the bot stops'));
      await Promise.allSettled(loops.map((loop) => loop.ended));
      await Promise.allSettled(platforms.map((platform) => platform.stop()));
    },
  };
}

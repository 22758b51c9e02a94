import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { type Bot, createBot } from '../../src/bot/bot.ts';
import type { BotSettings } from '../../src/bot/deps.ts';
import { createLiveRules } from '../../src/bot/live-rules.ts';
import { known, unknown } from '../../src/facts/fact.ts';
import { type LedgerPlace, openLedger } from '../../src/ledger/open.ts';
import type { Ledger } from '../../src/ledger/port.ts';
import { withoutRepeats } from '../../src/main/repeats.ts';
import type { Platform } from '../../src/platforms/port.ts';
import { createEmbeddedQueue } from '../../src/queue/embedded.ts';
import type { FinalAnswer } from '../../src/queue/port.ts';
import type { WorkerPool } from '../../src/queue/worker-pool.ts';
import { exampleFacts } from '../queue/fixtures/facts.ts';
import { createWorld } from './fake-platform.ts';
import { sceneSettings } from './scene-settings.ts';
import { draw, judge, words } from './stand-ins.ts';

/** 1 x 1 px JPEG header, enough to read its size. */
const tinyJpeg = Buffer.from('ffd8ffc0000b080003000401011100ffd9', 'hex');

/**
 * Stands in for measuring, in this process: the clip's text says what is found. `clean`, `fix`, `unsure`, `trim` come back in the clip's
 * length (10, 20, 30, 40 s), by which the stand-in for the judge decides; `bad` and `crash` fail; `wait` waits for `release`.
 */
function createMeasuring() {
  const lengths: Record<string, number> = { clean: 10, fix: 20, unsure: 30, trim: 40, wait: 10, turned: 50, dark: 60 };
  const held: (() => void)[] = [];
  const measured: string[] = [];
  const pool: WorkerPool = {
    size: 2,
    async run(task, { signal, onProgress }): Promise<FinalAnswer> {
      const text = readFileSync(task.file, 'utf8');
      measured.push(task.id);
      onProgress?.(0.4, 'pose');
      if (text === 'wait')
        await new Promise<void>((resolve, reject) => {
          held.push(resolve);
          signal.addEventListener('abort', () => reject(signal.reason), { once: true });
        });
      if (text === 'bad') return { kind: 'failed', id: task.id, code: 'clip-not-video', detail: '', retry: false };
      if (text === 'crash') return { kind: 'failed', id: task.id, code: 'worker-died', detail: '', retry: true };
      const facts = { ...exampleFacts(lengths[text] ?? 10), reps: known([{ startS: 3, turnS: 4, endS: 5 }]) };
      return { kind: 'facts', id: task.id, facts, timings: { pose: 0.1 } };
    },
    close: async () => {},
  };
  return { pool, measured, release: () => void held.splice(0).map((go) => go()) };
}

/** One ledger, one server of a platform, and bots on them one after the other. `spool`: a folder of the test's own, which is deleted. */
export async function createScene(
  change: Partial<BotSettings> = {},
  {
    place = { file: ':memory:' },
    spool = null,
    opened = null,
  }: { place?: LedgerPlace; spool?: string | null; opened?: Ledger | null } = {},
) {
  const folder = spool ?? mkdtempSync(join(tmpdir(), 'quarterview-test-scene-'));
  const ledger = opened ?? (await openLedger(place));
  const world = createWorld();
  const measuring = createMeasuring();
  const errors: string[] = [];
  const operator: string[] = [];
  const clock = { nowMs: 1_000_000 };
  const settings = sceneSettings(change);
  const bots: Bot[] = [];
  /** `wrap` may stand between the bot and its ledger and platform. */
  async function startBot(
    wrap: { ledger(l: Ledger): Ledger; platform(p: Platform): Platform } = { ledger: (l) => l, platform: (p) => p },
    others: Platform[] = [],
  ) {
    const own = wrap.ledger(ledger);
    const told = (details: object, text: string) => void operator.push(`${text}: ${JSON.stringify(details)}`);
    const calm = withoutRepeats({ info() {}, warn: told, error: told }, 1, () => 0);
    const log = {
      ...calm,
      error(details: object, text: string) {
        errors.push(`${text}: ${JSON.stringify(details)}`);
        calm.error(details, text);
      },
    };
    const bot = createBot({
      ledger: own,
      queue: createEmbeddedQueue({ store: own.jobs, pool: measuring.pool, log, retryAfterMs: 1 }),
      platforms: [...others, wrap.platform(world.adapter())],
      async runTask(task) {
        if (task.kind === 'cut') writeFileSync(task.out, 'cut');
        if (task.kind === 'stills') for (const i of task.timesS.keys()) writeFileSync(join(task.out, `00${i}.jpg`), tinyJpeg);
        return { kind: 'written', id: task.id, paths: [], bytes: 3 };
      },
      readCaption: () => unknown('not-stated'),
      judge,
      asSet: (lift) => lift,
      rules: await createLiveRules(ledger, '', { log, nowMs: () => clock.nowMs }),
      words,
      draw,
      language: 'en',
      settings: () => settings,
      spool: folder,
      threadUrl: (ref) => `room:${ref.message}`,
      log,
      nowMs: () => clock.nowMs,
      random: () => 0.5,
    });
    bots.push(bot);
    await bot.start();
    return bot;
  }
  return {
    folder,
    ledger,
    world,
    measuring,
    settings,
    clock,
    errors,
    /** Warnings and errors as the operator's log has them: the same trouble once. */
    operator,
    startBot,
    async close() {
      // A bot that died in the test hangs for ever.
      for (const bot of bots) await Promise.race([bot.stop(0), wait(20)]);
      await ledger.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** Waits for real until `what` holds. */
export async function until(what: () => boolean | Promise<boolean>): Promise<void> {
  for (let i = 0; !(await what()); i += 1) {
    if (i > 3000) throw new Error(`waited 30 s in vain for ${what}`);
    await wait(10);
  }
}

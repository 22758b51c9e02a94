import { randomBytes, randomUUID } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { Hono } from 'hono';
import type { Logger } from 'pino';
import { type Bot, createBot } from '../bot/bot.ts';
import { createLiveRules } from '../bot/live-rules.ts';
import { parseCaption } from '../captions/parse.ts';
import { judge } from '../judge/judge.ts';
import { liftAsSet } from '../judge/lift-as-set.ts';
import { type Lock, lockDatabase, lockFolder } from '../ledger/lock.ts';
import { openLedger } from '../ledger/open.ts';
import type { Ledger } from '../ledger/port.ts';
import { meteredLedger } from '../metrics/metered-ledger.ts';
import { createMetrics } from '../metrics/metrics.ts';
import type { Platform } from '../platforms/port.ts';
import { clipRoutes } from '../queue/clip-routes.ts';
import { createEmbeddedQueue } from '../queue/embedded.ts';
import type { Queue } from '../queue/port.ts';
import { createClipAddresses } from '../queue/signed-address.ts';
import { createWorkerPool, type WorkerPool } from '../queue/worker-pool.ts';
import { type Condition, operatorRoutes, promptly, serveOperator } from './operator.ts';
import { botSettingsOf, chatPlatforms, localRoom, servesRoom, threadUrlOf } from './platforms.ts';
import { ledgerPlaceOf } from './preflight.ts';
import { type Configuration, projectPath, workerVariables } from './project.ts';
import { withoutRepeats } from './repeats.ts';
import { drawOf, language, wordsOf } from './words.ts';

const lockWaitMs = 5000; // a bot that is replaced needs a moment to end; chosen
const graceMs = 10_000; // chosen: acts end in seconds, and it is the time that container runtimes give (from memory)
const sweepEveryMs = 2000; // chosen: a clip that Redis lost is offered again before a member wonders
const resignAfterMs = 1000; // chosen: an address that fails at once again does not spin
const repeatEveryMs = 600_000; // between two lines of the same trouble; chosen: six lines an hour

/** The running bot. Addresses are null where nothing is served. */
export interface RunningApp {
  roomAddress: string | null;
  operatorAddress: string | null;
  /** Ends within 20 s: what is under way is finished or handed back. */
  stop(): Promise<void>;
}

/** Puts the parts together and starts them. `onLost`: another bot took the ledger over, this one must end. Throws what a part throws. */
export async function startApp(configuration: Configuration, log: Logger, onLost: () => void): Promise<RunningApp> {
  const { environment, settings, rulesText, dataFolder } = configuration;
  const spool = join(dataFolder, 'spool');
  mkdirSync(spool, { recursive: true });
  const undo: (() => unknown)[] = [];
  const nowMs = Date.now;
  const calm = withoutRepeats(log, repeatEveryMs, nowMs);
  try {
    const locks: Lock[] = [lockFolder(join(dataFolder, 'lock'), lockWaitMs)];
    undo.push(() => Promise.all(locks.map((lock) => lock.release())));
    if (environment.databaseUrl !== null) locks.push(await lockDatabase(environment.databaseUrl, lockWaitMs, onLost));

    const metrics = createMetrics();
    const ledger = meteredLedger(await openLedger(ledgerPlaceOf(configuration)), metrics);
    undo.push(() => ledger.close());
    const rules = await createLiveRules(ledger, rulesText, { log, nowMs });
    const live = () => rules.inForce().settings;

    const pools: WorkerPool[] = [];
    const poolOf = (size: number) => {
      const { recycleAfter } = settings.queue;
      const pool = createWorkerPool({
        ...{ size, recycleAfter, env: workerVariables(environment) },
        entry: projectPath('workers/measure-clip.ts'),
      });
      pools.push(pool);
      return pool;
    };
    undo.push(() => Promise.all(pools.map((pool) => pool.close())));
    const tasks = poolOf(1);

    const room = servesRoom(configuration) ? localRoom(configuration, log.child({ platform: 'room' })) : null;
    const platforms: Platform[] = [...(await chatPlatforms(configuration, log)), ...(room === null ? [] : [room])];

    const secret = environment.clipSecret ?? keptSecret(join(dataFolder, 'clip-secret'));
    const expiresAfterMs = settings.queue.addressHours * 3_600_000;
    const addresses = createClipAddresses({ secret, expiresAfterMs, run: randomUUID(), nowMs });
    const servesClips = environment.redisUrl !== null && settings.queue.clipsBy === 'address';
    let queue: Queue | null = null;
    let bot: Bot | null = null;
    const conditions = () => bot?.platforms() ?? {};
    const condition = async (): Promise<Condition> => {
      const depth = queue?.depth() ?? { waiting: 0, running: 0 };
      return { ledger: await promptly(ledger.cursor('healthz')), queue: depth, platforms: conditions() };
    };
    metrics.watchPlatforms(conditions);
    const routes = operatorRoutes(condition, metrics);
    const onLoopback = ['127.0.0.1', 'localhost', '::1'].includes(settings.room.host);
    if (room !== null && onLoopback) room.app.route('/', routes);
    const own = room === null || !onLoopback || servesClips;
    const operatorHost = environment.operatorHost ?? settings.operator.host;
    const operatorApp = new Hono().route('/', routes);
    if (servesClips) operatorApp.route('/', clipRoutes({ addresses, fileOf: async (id) => clipOf(ledger, id) }));
    const operator = own ? await serveOperator(operatorApp, operatorHost, settings.operator.port) : null;
    undo.push(() => operator?.close());

    const retryAfterMs = settings.replies.retryAfterS * 1000;
    const measuring = () => poolOf(settings.queue.processes ?? availableParallelism());
    const base = environment.publicUrl ?? operator?.url ?? '';
    queue =
      environment.redisUrl === null
        ? createEmbeddedQueue({ store: ledger.jobs, pool: measuring(), log: calm, retryAfterMs })
        : (await import('../queue/bullmq.ts')).createBullQueue({
            redisUrl: environment.redisUrl,
            prefix: settings.queue.prefix,
            addressOf: servesClips ? (id) => addresses.sign(base, id) : null,
            ...{ log: calm, sweepEveryMs, resignAfterMs },
          });
    metrics.watchQueue(queue.depth);

    const botSettings = botSettingsOf(configuration);
    const made = createBot({
      ...{ ledger, queue, platforms, rules, spool, nowMs, log: calm },
      runTask: (task, signal) => tasks.run(task, { signal }),
      readCaption: (text) => parseCaption(text, settings.captions),
      judge: (facts, request) => judge(facts, { request, settings: live() }),
      asSet: (lift) => liftAsSet(lift, live()),
      language,
      words: wordsOf(live, log),
      draw: drawOf(live),
      settings: () => botSettings,
      threadUrl: threadUrlOf(configuration, room),
      random: Math.random,
    });
    bot = made;
    undo.push(() => made.stop(graceMs));
    await made.start();
    return {
      roomAddress: room?.address() ?? null,
      operatorAddress: operator?.url ?? (onLoopback ? (room?.address() ?? null) : null),
      stop: () => unwind(undo, log),
    };
  } catch (error) {
    await unwind(undo, log);
    throw error;
  }
}

/** Ends what was started, the last first; what fails to end does not keep the others. */
async function unwind(undo: (() => unknown)[], log: Logger): Promise<void> {
  for (const step of undo.splice(0).reverse()) {
    try {
      await step();
    } catch (error) {
      log.warn({ error: String(error) }, 'something did not end as it should');
    }
  }
}

const clipOf = async (ledger: Ledger, id: string) => (await ledger.submission(id))?.clipPath ?? null;

/** The secret that signs addresses of clips: made once, kept in the data folder for this user only. */
function keptSecret(file: string): string {
  if (!existsSync(file)) writeFileSync(file, randomBytes(32).toString('base64url'), { mode: 0o600, flag: 'wx' });
  return readFileSync(file, 'utf8').trim();
}

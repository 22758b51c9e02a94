import { setTimeout as sleep } from 'node:timers/promises';
import { Client, Events, type GatewayDispatchPayload, GatewayIntentBits, Options } from 'discord.js';
import type { PlatformError } from '../port.ts';
import type { RestAddress } from './api.ts';
import { finalFailure, passingFailure, renewToken } from './failure.ts';
import type { Log } from './options.ts';

/** What the adapter listens to: servers and channels, messages, and the messages' content and files (a privileged intent). */
const intents = [GatewayIntentBits.Guilds, GatewayIntentBits.GuildMessages, GatewayIntentBits.MessageContent];

/** Close codes after which reconnecting cannot help (Discord docs, gateway close event codes), with what to do. */
const finalCloses: Record<number, string> = {
  4004: renewToken,
  4010: 'invalid shard',
  4011: 'the bot is in too many servers for one connection',
  4012: 'this gateway version is no longer served: update discord.js',
  4013: 'invalid intents',
  4014: 'the message content intent is off: developer portal, Bot, Privileged Gateway Intents, Message Content Intent',
};

/**
 * Pace of IDENTIFY: Discord allows 1,000 in 24 h and resets the token after that (Discord docs, gateway, identifying). `burst` at once, then
 * one each `everyMs`.
 */
export interface IdentifyPace {
  burst: number;
  everyMs: number;
}

/** Waits in front of each IDENTIFY, as a bucket that fills at the given pace. */
function identifyBucket(pace: IdentifyPace, nowMs: () => number) {
  let level = pace.burst;
  let filledAtMs = nowMs();
  return {
    waitForIdentify: async (_shard: number, signal: AbortSignal) => {
      const now = nowMs();
      level = Math.min(pace.burst, level + (now - filledAtMs) / pace.everyMs);
      filledAtMs = now;
      level -= 1;
      if (level < 0) await sleep(-level * pace.everyMs, undefined, { signal });
    },
  };
}

/** Wait before login number `attempt` (from 0): none, then 5 s doubled up to 15 min. Chosen; Discord grants 1,000 a day (its docs, gateway). */
export function loginWaitMs(attempt: number): number {
  return attempt === 0 ? 0 : Math.min(5000 * 2 ** (attempt - 1), 900_000);
}

export interface GatewayOptions {
  token: string;
  rest: RestAddress | undefined;
  pace: IdentifyPace;
  nowMs: () => number;
  log: Log;
  onDispatch: (payload: GatewayDispatchPayload) => void;
  /** The connection broke, for good where the fault is final, or stands again (null). */
  onLine: (fault: PlatformError | null) => void;
  /** Wait before the next login after Discord closed the connection for good, ms. */
  afterFinalMs: number;
}

function newClient(options: GatewayOptions): Client {
  return new Client({
    intents,
    ...(options.rest && { rest: options.rest }),
    makeCache: Options.cacheWithLimits({
      ...Options.DefaultMakeCacheSettings,
      MessageManager: 0,
      ReactionManager: 0,
      ThreadMemberManager: 0,
      // 10: chosen; who writes comes with each message, so hardly anybody needs to be kept
      GuildMemberManager: { maxSize: 10, keepOverLimit: (member) => member.id === member.client.user.id },
      UserManager: { maxSize: 10, keepOverLimit: (user) => user.id === user.client.user.id },
    }),
    ws: { buildIdentifyThrottler: () => identifyBucket(options.pace, options.nowMs) },
  });
}

/** One login; rejects on a close that is final. `onClosed`: such a close later on. */
async function login(options: GatewayOptions, onClosed: (fault: PlatformError) => void, signal: AbortSignal): Promise<Client> {
  const client = newClient(options);
  const { log } = options;
  client.on(Events.Raw as never, options.onDispatch as never);
  client.on(Events.Error, (error) => log.warn({ fault: error.message }, 'discord: gateway fault'));
  client.on(Events.ShardError, (error) => log.warn({ fault: error.message }, 'discord: connection fault'));
  client.on(Events.ShardReconnecting, () => {
    log.info({}, 'discord: connection lost, reconnecting');
    options.onLine(passingFailure('unreachable', 'the connection to Discord broke'));
  });
  client.on(Events.ShardReady, () => options.onLine(null));
  client.on(Events.ShardResume, (_shard, replayed) => {
    log.info({ replayed }, 'discord: connection resumed');
    options.onLine(null);
  });
  let isIn = false;
  let refuse: (error: unknown) => void = () => {};
  const refused = new Promise<never>((_resolve, reject) => {
    refuse = reject;
  });
  refused.catch(() => {});
  client.on(Events.ShardDisconnect, ({ code }) => {
    const why = finalCloses[code] ?? `closed with ${code}`;
    log.error({ code }, `discord: disconnected for good: ${why}`);
    const fault = finalFailure('forbidden', `Discord closed the connection: ${why}`);
    refuse(fault);
    if (isIn) onClosed(fault);
  });
  const onAbort = () => refuse(signal.reason);
  signal.addEventListener('abort', onAbort, { once: true });
  try {
    await Promise.race([client.login(options.token), refused]);
    isIn = true;
    return client;
  } catch (error) {
    await closeClient(client);
    throw error;
  } finally {
    signal.removeEventListener('abort', onAbort);
  }
}

async function closeClient(client: Client): Promise<void> {
  client.removeAllListeners(Events.Raw);
  const patience = new AbortController();
  await Promise.race([client.destroy(), sleep(2000, undefined, { signal: patience.signal }).catch(() => {})]);
  patience.abort();
}

/**
 * Connects to the gateway and stays connected: the library resumes by itself, and identifies anew at our pace. A login that fails for a
 * passing reason is tried again with growing waits until `signal` aborts. When Discord closes the connection for good later on (the token was
 * reset, an intent switched off), `onLine` hears of it, and a login is tried now and then, so that an intent that is switched on again is enough.
 *
 * @throws PlatformError `forbidden` when token or intents are refused; the signal's reason when aborted.
 */
export async function connectGateway(options: GatewayOptions, signal: AbortSignal): Promise<() => Promise<void>> {
  let client: Client | null = null;
  const enter = async () => {
    client = await keepLoggingIn(options, (fault) => void again(fault), signal);
    if (signal.aborted) await closeClient(client);
  };
  async function again(fault: PlatformError): Promise<void> {
    options.onLine(fault);
    if (client !== null) await closeClient(client);
    while (!signal.aborted) {
      try {
        await sleep(options.afterFinalMs, undefined, { signal });
        return await enter();
      } catch {
        // Still refused: it was told once.
      }
    }
  }
  await enter();
  return async () => {
    if (client !== null) await closeClient(client);
  };
}

async function keepLoggingIn(
  options: GatewayOptions,
  onClosed: (fault: PlatformError) => void,
  signal: AbortSignal,
): Promise<Client> {
  for (let attempt = 0; ; attempt++) {
    try {
      await sleep(loginWaitMs(attempt), undefined, { signal });
      return await login(options, onClosed, signal);
    } catch (error) {
      if (signal.aborted) throw signal.reason;
      if (error instanceof Error && 'retry' in error) throw error;
      if (error instanceof Error && 'code' in error && error.code === 'TokenInvalid') {
        throw finalFailure('forbidden', `Discord refused the connection: ${finalCloses[4004]}`);
      }
      const fault = error instanceof Error ? error.message : String(error);
      options.log.warn({ fault, nextInMs: loginWaitMs(attempt + 1) }, 'discord: login failed, trying again');
    }
  }
}

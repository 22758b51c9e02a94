import { setTimeout as sleep } from 'node:timers/promises';
import { webApi } from '@slack/bolt';
import { toPlatformError } from './errors.ts';
import type { SlackOptions } from './options.ts';

type WebClient = webApi.WebClient;

/** The Web API with the port's errors and abort signals. */
export interface SlackApi {
  /** Base address, with a slash at its end. */
  url: string;
  token: string;
  /** One call, not repeated: a lost answer to a post must not become a second post. Throws PlatformError. */
  once<T>(signal: AbortSignal, work: (web: WebClient) => Promise<T>): Promise<T>;
  /** A call that may be repeated: waits out rate limits and passing faults, at most five times. Throws PlatformError. */
  patiently<T>(signal: AbortSignal, work: (web: WebClient) => Promise<T>): Promise<T>;
}

/** Slack's own address of the Web API. */
const slackUrl = 'https://slack.com/api/';

/** Milliseconds after which a call counts as lost. Chosen. */
const timeoutMs = 30_000;

/** Logger for Slack's libraries: their debug lines hold message bodies, so these are dropped. */
export function libraryLog(log: SlackOptions['log']) {
  const line = (what: unknown[]) => what.map(String).join(' ');
  return {
    debug: () => undefined,
    info: (...what: unknown[]) => log.debug({}, line(what)),
    warn: (...what: unknown[]) => log.warn({}, line(what)),
    error: (...what: unknown[]) => log.warn({}, line(what)),
    setLevel: () => undefined,
    getLevel: () => webApi.LogLevel.INFO,
    setName: () => undefined,
  };
}

/** Options of Slack's client: no repeats of its own, since only the adapter knows which calls may be repeated. */
export function clientOptions(options: Pick<SlackOptions, 'apiUrl' | 'log'>) {
  return {
    slackApiUrl: options.apiUrl ?? slackUrl,
    retryConfig: { retries: 0 },
    rejectRateLimitedCalls: true,
    timeout: timeoutMs,
    logger: libraryLog(options.log),
  };
}

/** Rejects with the signal's reason as soon as it aborts; the work itself may still end in the background. */
async function abortable<T>(work: Promise<T>, signal: AbortSignal): Promise<T> {
  let stop = () => {};
  const aborted = new Promise<never>((_, reject) => {
    stop = () => reject(signal.reason);
    signal.addEventListener('abort', stop, { once: true });
  });
  try {
    return await Promise.race([work, aborted]);
  } finally {
    signal.removeEventListener('abort', stop);
  }
}

/** Connects nothing yet. */
export function createApi(options: Pick<SlackOptions, 'apiUrl' | 'log' | 'botToken'>): SlackApi {
  const web = new webApi.WebClient(options.botToken, clientOptions(options));
  const once: SlackApi['once'] = async (signal, work) => {
    signal.throwIfAborted();
    try {
      return await abortable(work(web), signal);
    } catch (error) {
      if (signal.aborted) throw signal.reason;
      throw toPlatformError(error);
    }
  };
  return {
    url: options.apiUrl ?? slackUrl,
    token: options.botToken,
    once,
    async patiently(signal, work) {
      for (let attempt = 0; ; attempt++) {
        try {
          return await once(signal, work);
        } catch (error) {
          if (signal.aborted) throw error;
          const { code, retry } = toPlatformError(error);
          if (retry.final || code === 'forbidden' || attempt >= 4) throw error;
          await sleep(retry.retryAfterMs ?? 250 * 2 ** attempt, undefined, { signal });
        }
      }
    },
  };
}

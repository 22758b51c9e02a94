import { type RawFile, REST, type RequestMethod } from 'discord.js';
import { PlatformError } from '../port.ts';
import { failureOf } from './failure.ts';

/** Longest wait in ms for a rate limit inside a call; a longer one is handed to the caller as `rate-limited`. Chosen. */
const longestLimitMs = 30_000;

type Route = `/${string}`;

interface CallOptions {
  body?: unknown;
  files?: RawFile[];
  query?: Record<string, string>;
  /** False for interaction callbacks, which are authorised by the token in their address. */
  auth?: boolean;
}

/** Discord's REST interface: waits for rate limits, tries 5xx again, throws PlatformError or the signal's reason. */
export interface DiscordApi {
  call<T>(
    method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE',
    route: Route,
    signal: AbortSignal,
    options?: CallOptions,
  ): Promise<T>;
  /** GET that yields null where Discord answers 404. */
  find<T>(route: Route, signal: AbortSignal, query?: Record<string, string>): Promise<T | null>;
}

/** Base addresses of REST interface and CDN; only tests set them. */
export interface RestAddress {
  api: string;
  cdn: string;
}

/**
 * Runs work that ends with the signal: rejects with its reason at once. The work gets a signal of its own, since the REST client never
 * takes its listeners off the signals it is given.
 */
function whileWanted<T>(signal: AbortSignal, work: (own: AbortSignal) => Promise<T>): Promise<T> {
  const own = new AbortController();
  return new Promise((resolve, reject) => {
    const onAbort = () => {
      reject(signal.reason);
      own.abort(signal.reason);
    };
    signal.addEventListener('abort', onAbort, { once: true });
    work(own.signal)
      .then(resolve, reject)
      .finally(() => signal.removeEventListener('abort', onAbort));
  });
}

/** The interface for one bot token. The address in a fault's text is the route without interaction tokens. */
export function connectApi(token: string, address: RestAddress | undefined): DiscordApi {
  const rest = new REST({
    ...address,
    timeout: 60_000, // chosen: an upload of 10 MiB at 1.4 Mbit/s
    retries: 3, // discord.js' own (from memory)
    rejectOnRateLimit: (limit) => Math.max(limit.timeToReset, limit.retryAfter, limit.sublimitTimeout) > longestLimitMs,
  });

  const call: DiscordApi['call'] = async (method, route, signal, options = {}) => {
    signal.throwIfAborted();
    const { query, ...others } = options;
    const request = {
      ...others,
      method: method as RequestMethod,
      fullRoute: route,
      ...(query && { query: new URLSearchParams(query) }),
    };
    try {
      rest.setToken(token); // the library forgets a token that was refused, and would then not even ask
      return (await whileWanted(signal, (own) => rest.request({ ...request, signal: own }))) as never;
    } catch (error) {
      if (signal.aborted) throw signal.reason;
      throw failureOf(error, `${method} ${route.replace(/^\/(interactions|webhooks)\/(\d+)\/[^/]+/, '/$1/$2/…')}`);
    }
  };
  return {
    call,
    find: (route, signal, query) =>
      call<never>('GET', route, signal, query ? { query } : {}).catch((error: unknown) => {
        if (error instanceof PlatformError && error.code === 'gone') return null;
        throw error;
      }),
  };
}

import { Redis } from 'ioredis';

/**
 * A connection on which Redis owes an answer for this long is made anew, ms, and what was asked is asked again. Chosen: three of BullMQ's
 * waits for news (10 s), far below the quarter of an hour after which Linux gives a silent line up (tcp(7), tcp_retries2).
 */
const usualReplyMs = 30_000;

/** Ends the time limit of a connection with it: ioredis 5.11 lets it run on, and it breaks the next connection or holds an ended process. */
function endLimitOnClose(redis: Redis): Redis {
  redis.on('close', () => {
    const own = redis as unknown as { socketTimeoutTimer: NodeJS.Timeout | undefined };
    clearTimeout(own.socketTimeoutTimer);
    own.socketTimeoutTimer = undefined;
  });
  const duplicate = redis.duplicate.bind(redis);
  redis.duplicate = (options) => endLimitOnClose(duplicate(options)); // BullMQ makes its own connections so
  return redis;
}

/** Asks until Redis answers. Where `keeps` is false, what is asked while Redis is away fails at once. */
export function connectRedis(url: string, { replyWithinMs = usualReplyMs, keeps = true } = {}): Redis {
  return endLimitOnClose(
    new Redis(url, {
      maxRetriesPerRequest: null,
      retryStrategy: (tried) => Math.min(100 * tried, 2000), // chosen: at once after a restart, every 2 s in an outage
      socketTimeout: replyWithinMs,
      enableOfflineQueue: keeps,
    }),
  );
}

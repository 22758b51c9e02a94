import type { IncomingMessage, Platform } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { isWatched, takeIn } from './intake.ts';

const page = 100;

export interface Reader {
  /** A message as it comes; throws when it could not be kept, and it will be found by the next backfill. */
  live(message: IncomingMessage): Promise<void>;
  /** Reads what was posted since the last message seen, in every watched channel. */
  backfill(platform: Platform, signal: AbortSignal): Promise<void>;
}

/**
 * Reads channels without holes: the last message seen is noted only while no gap is open, so what came before it has been taken in.
 * What was posted before the bot first watched a channel is left alone.
 */
export function createReader(deps: BotDeps, onTaken: () => void): Reader {
  const { ledger, settings, log, nowMs } = deps;
  const open = new Set<string>(deps.platforms.map((platform) => platform.name));
  const lines = new Map<string, Promise<void>>();
  const seen = new Map<string, number>();
  const homeOf = (m: IncomingMessage) => (m.threadStart ?? m.ref).channel;
  const nameOf = (platform: string, channel: string) => `seen/${platform}/${channel}`;

  async function note(message: IncomingMessage): Promise<void> {
    const name = nameOf(message.ref.platform, homeOf(message));
    if (message.sentAtMs < (seen.get(name) ?? 0)) return;
    await ledger.setCursor(name, message.ref.message);
    seen.set(name, message.sentAtMs);
  }

  async function firstWatchedMs(platform: string, channel: string): Promise<number> {
    const name = `watched-since/${platform}/${channel}`;
    const since = await ledger.cursor(name);
    if (since !== null) return Number(since);
    await ledger.setCursor(name, String(nowMs()));
    return nowMs();
  }

  /** One after the other within a channel, so that takes and the cursor are in order. */
  function inLine<T>(key: string, work: () => Promise<T>): Promise<T> {
    const result = (lines.get(key) ?? Promise.resolve()).then(work);
    const settled = result.then(
      () => {},
      () => {},
    );
    lines.set(key, settled);
    void settled.then(() => {
      if (lines.get(key) === settled) lines.delete(key);
    });
    return result;
  }

  return {
    live(message) {
      if (!isWatched(message, settings())) return Promise.resolve();
      return inLine(`${message.ref.platform}/${homeOf(message)}`, async () => {
        try {
          if (await takeIn(message, deps)) onTaken();
          if (!open.has(message.ref.platform)) await note(message);
        } catch (error) {
          open.add(message.ref.platform);
          throw error;
        }
      });
    },

    async backfill(platform, signal) {
      open.add(platform.name);
      for (const channel of settings().watched[platform.name] ?? []) {
        const sinceMs = await firstWatchedMs(platform.name, channel);
        for (;;) {
          const after = await ledger.cursor(nameOf(platform.name, channel));
          const messages = await platform.history(channel, after, page, signal);
          await inLine(`${platform.name}/${channel}`, async () => {
            for (const message of messages) {
              if (message.sentAtMs >= sinceMs && (await takeIn(message, deps))) onTaken();
              await note(message);
            }
          });
          if (messages.length > 0) log.info({ platform: platform.name, channel, messages: messages.length }, 'a gap was read');
          if (messages.length < page || (await ledger.cursor(nameOf(platform.name, channel))) === after) break;
        }
      }
      open.delete(platform.name);
    },
  };
}

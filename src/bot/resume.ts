import { type IncomingMessage, type Platform, PlatformError, type PlatformName } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { isWatched, takeIn } from './intake.ts';

const page = 100; // Discord's most for one page (Discord docs, message resource)
/** How old a message may be to which a clip is added while the bot is away. Chosen: later a member posts anew. */
const editsWithinMs = 24 * 3_600_000;
const markEveryMs = 3_600_000; // chosen: 25 kept marks cover the day

/** A message that was seen, as [time sent in ms, its id]; about one an hour, oldest first, one of them older than edits are looked for. */
type Milestones = [number, string][];

/** A channel whose gap stays open. */
export interface Unread {
  channel: string;
  error: unknown;
}

export interface Reader {
  /** A message as it comes; throws when it could not be kept, and it will be found by the next backfill. */
  live(message: IncomingMessage): Promise<void>;
  /** From now on, until the next backfill has ended, something may be missing before what comes live. */
  openGap(name: PlatformName): void;
  /**
   * Reads what was posted since the last message seen, in every watched channel with an open gap, then looks for clips that an edit added.
   * Gives the channels that could not be read, none: all were. One that is gone or shut does not keep the others from being read; after a
   * fault that may pass, the rest waits for the next time.
   */
  backfill(platform: Platform, signal: AbortSignal): Promise<Unread[]>;
}

/**
 * Reads channels without holes: the last message seen is noted only while no gap is open, so what came before it has been taken in.
 * What was posted before the bot first watched a channel is left alone.
 */
export function createReader(deps: BotDeps, onTaken: () => void): Reader {
  const { ledger, settings, log, nowMs } = deps;
  /** Number of the newest gap by platform, and of the last one that was read by channel; the gap is open where they differ. */
  const newestGap = new Map<string, number>(deps.platforms.map((platform) => [platform.name, 0]));
  const readGap = new Map<string, number>();
  let lastGap = 0;
  const lines = new Map<string, Promise<void>>();
  const seen = new Map<string, number>();
  const homeOf = (m: IncomingMessage) => (m.threadStart ?? m.ref).channel;
  const nameOf = (platform: string, channel: string) => `seen/${platform}/${channel}`;
  const openGap = (name: string) => {
    lastGap += 1;
    newestGap.set(name, lastGap);
  };
  const isOpen = (m: IncomingMessage) => readGap.get(`${m.ref.platform}/${homeOf(m)}`) !== newestGap.get(m.ref.platform);

  async function note(message: IncomingMessage): Promise<void> {
    const name = nameOf(message.ref.platform, homeOf(message));
    if (message.sentAtMs < (seen.get(name) ?? 0)) return;
    await setMilestone(message);
    await ledger.setCursor(name, message.ref.message);
    seen.set(name, message.sentAtMs);
  }

  const milestonesName = (platform: string, channel: string) => `milestones/${platform}/${channel}`;
  const newest = new Map<string, number>();
  async function milestones(name: string): Promise<Milestones> {
    const kept = await ledger.cursor(name);
    return kept === null ? [] : (JSON.parse(kept) as Milestones);
  }
  async function setMilestone(message: IncomingMessage): Promise<void> {
    const name = milestonesName(message.ref.platform, homeOf(message));
    const known = newest.get(name);
    if (known !== undefined && message.sentAtMs < known + markEveryMs) return;
    const all = await milestones(name);
    const last = all.at(-1)?.[0] ?? Number.NEGATIVE_INFINITY;
    newest.set(name, Math.max(last, known ?? last));
    if (message.sentAtMs < last + markEveryMs) return;
    const worth = all.filter((_, i) => (all[i + 1]?.[0] ?? message.sentAtMs) > message.sentAtMs - editsWithinMs);
    await ledger.setCursor(name, JSON.stringify([...worth, [message.sentAtMs, message.ref.message]]));
    newest.set(name, message.sentAtMs);
  }

  /** Reads the last day's messages again: what is known already is passed over, so only clips that an edit added are new. */
  async function findEdits(platform: Platform, channel: string, sinceMs: number, signal: AbortSignal): Promise<void> {
    const all = await milestones(milestonesName(platform.name, channel));
    let after = all.findLast(([sentMs]) => sentMs <= nowMs() - editsWithinMs)?.[1] ?? null;
    for (;;) {
      const messages = await platform.history(channel, after, page, signal);
      await inLine(`${platform.name}/${channel}`, async () => {
        for (const message of messages) if (message.sentAtMs >= sinceMs && (await takeIn(message, deps))) onTaken();
      });
      const last = messages.at(-1)?.ref.message ?? null;
      if (messages.length < page || last === after) return;
      after = last;
    }
  }

  async function firstWatchedMs(platform: string, channel: string): Promise<number> {
    const name = `watched-since/${platform}/${channel}`;
    const since = await ledger.cursor(name);
    if (since !== null && Number(since) <= nowMs()) return Number(since); // else the clock was set back
    await ledger.setCursor(name, String(nowMs()));
    return nowMs();
  }

  async function readChannel(platform: Platform, channel: string, gap: number, signal: AbortSignal): Promise<void> {
    const key = `${platform.name}/${channel}`;
    const sinceMs = await firstWatchedMs(platform.name, channel);
    for (;;) {
      const after = await ledger.cursor(nameOf(platform.name, channel));
      const messages = await platform.history(channel, after, page, signal);
      await inLine(key, async () => {
        for (const message of messages) {
          if (message.sentAtMs >= sinceMs && (await takeIn(message, deps))) onTaken();
          await note(message);
        }
      });
      if (messages.length > 0) log.info({ platform: platform.name, channel, messages: messages.length }, 'a gap was read');
      if (messages.length < page || (await ledger.cursor(nameOf(platform.name, channel))) === after) break;
    }
    readGap.set(key, gap);
    await findEdits(platform, channel, sinceMs, signal);
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
    openGap,

    live(message) {
      if (!isWatched(message, settings())) return Promise.resolve();
      return inLine(`${message.ref.platform}/${homeOf(message)}`, async () => {
        try {
          if (await takeIn(message, deps)) onTaken();
          if (!isOpen(message)) await note(message);
        } catch (error) {
          openGap(message.ref.platform);
          throw error;
        }
      });
    },

    async backfill(platform, signal) {
      const gap = newestGap.get(platform.name) ?? 0;
      const unread: Unread[] = [];
      for (const channel of settings().watched[platform.name] ?? []) {
        const key = `${platform.name}/${channel}`;
        if (readGap.get(key) === gap) continue;
        try {
          await readChannel(platform, channel, gap, signal);
        } catch (error) {
          readGap.delete(key);
          unread.push({ channel, error });
          if (!(error instanceof PlatformError && error.retry.final)) break;
        }
      }
      return unread;
    },
  };
}

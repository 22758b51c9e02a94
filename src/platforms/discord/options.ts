import type { Mark } from '../port.ts';
import type { RestAddress } from './api.ts';
import type { IdentifyPace } from './gateway.ts';

/** The part of a pino logger that the adapter uses. Tokens, captions and addresses of interactions are never logged. */
export interface Log {
  info(fields: object, message: string): void;
  warn(fields: object, message: string): void;
  error(fields: object, message: string): void;
}

/** The few words of the adapter itself; replaced by settings for another language. */
export interface DiscordWords {
  /** Title of a thread in front of the member's name. */
  threadTitle: string;
  /** When an action failed. */
  failed: string;
  /** When a form could not be opened in time. */
  again: string;
}

export interface DiscordOptions {
  token: string;
  /** Ids of the watched channels. */
  channels: string[];
  /** Id of the coaches' channel; null for none. */
  coachChannel: string | null;
  /** Id of the moderators' channel; null for none. */
  moderatorChannel: string | null;
  /** The emoji of each mark: the sign itself or `name:id` of a server's own. */
  emoji: Record<Mark, string>;
  log: Log;
  /** Addresses of a local server, for tests. */
  rest?: RestAddress;
  words?: Partial<DiscordWords>;
  /** After how long an action's answer is deferred, ms; Discord allows 3,000 (its docs, interactions). Default 2,000. */
  deferAfterMs?: number;
  /** Default: 20 at once, then one each 100 s, which keeps under 1,000 a day (Discord docs, gateway). */
  identifyPace?: IdentifyPace;
  /** How often a login is tried after Discord closed the connection for good, ms. Default 15 min, chosen. */
  afterFinalMs?: number;
}

export const defaultWords: DiscordWords = {
  threadTitle: 'Filming',
  failed: 'That did not work just now. Please try again in a minute.',
  again: 'That took too long. Please press again.',
};

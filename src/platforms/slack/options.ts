import type { Mark } from '../port.ts';

/** Where the adapter writes what happened; a pino logger fits. Texts of members, captions and tokens are never passed to it. */
export interface SlackLog {
  debug(what: object, message: string): void;
  info(what: object, message: string): void;
  warn(what: object, message: string): void;
  error(what: object, message: string): void;
}

/** How Slack reaches the bot: over an outgoing web socket (app-level token), or by signed requests to a port of ours. */
type SlackMode = { kind: 'socket'; appToken: string } | { kind: 'http'; signingSecret: string; port: number; host: string };

/** Settings of the Slack adapter. Channels are ids (`C...`, `G...`). */
export interface SlackOptions {
  botToken: string;
  mode: SlackMode;
  /** Watched channels: messages elsewhere are not passed on. */
  channels: string[];
  /** Where cards go; checked by the preflight, not watched. Null for none. */
  coachChannel: string | null;
  /** Where reports and changes of the rules go; checked by the preflight, not watched. Null for none. */
  moderatorChannel: string | null;
  /** Emoji name, without colons, of each mark. */
  emoji: Record<Mark, string>;
  /** The one slash command of the app, with its slash. Default `/quarterview`. */
  slashCommand?: string;
  /** Base address of the Web API, with a slash at its end. Default is Slack's own. */
  apiUrl?: string;
  /** How far back before the last seen message old threads are looked through for new replies, days. Default 7. */
  threadLookbackDays?: number;
  log: SlackLog;
  /** The clock, milliseconds since 1970. Default `Date.now`. */
  nowMs?: () => number;
}

/** Scopes of the bot token that the adapter needs; the same list stands in deploy/slack-manifest.yaml. */
export const botScopes = [
  'channels:history',
  'channels:read',
  'chat:write',
  'commands',
  'files:read',
  'files:write',
  'groups:history',
  'groups:read',
  'im:write',
  'reactions:read',
  'reactions:write',
  'usergroups:read',
  'users:read',
] as const;

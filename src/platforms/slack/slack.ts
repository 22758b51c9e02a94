import type { Server } from 'node:http';
import { setTimeout as sleep } from 'node:timers/promises';
import { App, HTTPReceiver } from '@slack/bolt';
import {
  type Command,
  type IncomingFile,
  type IncomingMessage,
  type Mark,
  type MessageRef,
  type OutgoingMessage,
  type Platform,
  PlatformError,
  type PlatformEvents,
  type PreflightRow,
} from '../port.ts';
import { listenToActions } from './actions.ts';
import { clientOptions, createApi, libraryLog, type SlackApi } from './api.ts';
import { download } from './download.ts';
import { readHistory } from './history.ts';
import { createMarks } from './marks.ts';
import { editMatters, isFromPerson, type SlackMessage, toIncoming } from './messages.ts';
import type { SlackOptions } from './options.ts';
import { createPeople, type SlackPeople } from './people.ts';
import { slackPreflight } from './preflight.ts';
import { createPublisher, type Publisher, type Target } from './publish.ts';
import { keepConnected, socketReceiver } from './socket.ts';

/** Waits between attempts to hand a message to the bot; Slack was told that it arrived and does not send it again. Chosen. */
const handOverWaitsMs = [0, 500, 2000, 10_000, 30_000];
/** Milliseconds that `stop` gives work in hand. Chosen: half of what the bot has. */
const stopMs = 5000;

/** A message event as it comes in; an edit holds the message before and after. */
interface MessageEvent extends SlackMessage {
  channel: string;
  message?: SlackMessage;
  previous_message?: SlackMessage;
}

/** At start a token that is not taken is final: the operator is there to see it. */
const refusedForGood = (cause: PlatformError) =>
  new PlatformError(cause.code, cause.message, { final: true, retryAfterMs: null }, { cause });

/** Holds the connection to one workspace. */
class SlackPlatform implements Platform {
  readonly name = 'slack';
  /** Slack's own limit of one file, bytes (1 GB, from Slack's help pages). */
  readonly maxFileBytes = 1_000_000_000;
  readonly setMarks: (message: MessageRef, marks: Mark[], signal: AbortSignal) => Promise<void>;
  private readonly api: SlackApi;
  private readonly people: SlackPeople;
  private readonly publisher: Publisher;
  private botUserId: string | null = null;
  private readonly ending = new AbortController();
  private readonly running = new Set<Promise<void>>();
  private server: Server | null = null;
  private app: App | null = null;

  constructor(private readonly options: SlackOptions) {
    const nowMs = options.nowMs ?? Date.now;
    this.api = createApi(options);
    this.people = createPeople(this.api, options.log, nowMs);
    this.publisher = createPublisher(this.api, nowMs);
    const setMarks = createMarks(this.api, options.emoji, () => this.botUserId);
    this.setMarks = async (message, marks, signal) => {
      await this.knowOurselves(signal);
      return setMarks(message, marks, signal);
    };
  }

  /** Our user id, once: what we wrote and marked is told by it. */
  private async knowOurselves(signal: AbortSignal): Promise<void> {
    if (this.botUserId !== null) return;
    const answer = await this.api.patiently(signal, (web) => web.auth.test());
    this.botUserId = answer.user_id ?? null;
  }

  /** Work in the background; its failure is logged, and `stop` waits for it. */
  private run(what: string, work: () => Promise<void>): void {
    if (this.ending.signal.aborted) return;
    const job = work()
      .catch((error) => {
        if (!this.ending.signal.aborted) this.options.log.error({ what, error: String(error) }, 'work for Slack failed');
      })
      .finally(() => this.running.delete(job));
    this.running.add(job);
  }

  async start(events: PlatformEvents, commands: Command[], signal: AbortSignal): Promise<void> {
    const { mode, log, botToken } = this.options;
    signal.throwIfAborted();
    await this.knowOurselves(signal).catch((error: unknown) => {
      throw error instanceof PlatformError && error.code === 'forbidden' ? refusedForGood(error) : error;
    });
    const ending = this.ending.signal;
    const socket = mode.kind === 'socket' ? socketReceiver(this.options, mode.appToken) : null;
    const http = mode.kind === 'http' ? new HTTPReceiver({ signingSecret: mode.signingSecret, logger: libraryLog(log) }) : null;
    const app = new App({
      receiver: (socket ?? http)!,
      // Bolt needs ids of the bot to build a context; our own filter tells what we wrote.
      authorize: async () => ({ botToken, botUserId: this.botUserId ?? '', botId: '' }),
      clientOptions: clientOptions(this.options),
      ignoreSelf: false,
      logger: libraryLog(log),
    });
    this.app = app;
    app.error(async (error) => log.error({ error: String(error) }, 'Slack event failed'));
    app.event('message', async ({ event }) => {
      this.run('message', () => this.onMessageEvent(event as unknown as MessageEvent, events));
    });
    listenToActions(app, {
      api: this.api,
      publisher: this.publisher,
      people: this.people,
      events,
      commands,
      slashCommand: this.options.slashCommand ?? '/quarterview',
      log,
      signal: ending,
      run: (what, work) => this.run(what, work),
    });
    const gap = () => this.run('backfill', () => events.onGap('slack'));
    signal.addEventListener('abort', () => void this.stop(), { once: true, signal: ending });
    if (mode.kind === 'http') this.server = (await app.start({ port: mode.port, host: mode.host })) as Server;
    const onLine = (fault: PlatformError | null) => {
      events.onLine('slack', fault);
      if (fault === null) gap();
    };
    if (socket !== null) await keepConnected(socket.client, log, onLine, ending);
    gap();
  }

  private async onMessageEvent(event: MessageEvent, events: PlatformEvents): Promise<void> {
    if (!this.options.channels.includes(event.channel)) return;
    const edited = event.subtype === 'message_changed' ? event.message : undefined;
    if (edited !== undefined && !editMatters(edited, event.previous_message)) return;
    const message = edited ?? event;
    if (!isFromPerson(message, this.botUserId)) return;
    const { signal } = this.ending;
    const incoming = await toIncoming(this.api, this.people, event.channel, message, signal);
    for (const [attempt, waitMs] of handOverWaitsMs.entries()) {
      await sleep(waitMs, undefined, { signal });
      try {
        return await events.onMessage(incoming);
      } catch (error) {
        this.options.log.warn(
          { attempt, message: incoming.ref.message, error: String(error) },
          'the bot did not take a Slack message',
        );
      }
    }
    this.options.log.error({ message: incoming.ref.message }, 'a Slack message was not taken');
    await events.onGap('slack');
  }

  async stop(): Promise<void> {
    if (this.ending.signal.aborted) return;
    this.ending.abort(new Error('the Slack adapter was stopped'));
    const app = this.app;
    this.app = null;
    if (app !== null) {
      const closing = app.stop().catch(() => undefined);
      this.server?.closeAllConnections();
      await Promise.race([closing, sleep(stopMs, undefined, { ref: false })]);
    }
    await Promise.race([Promise.allSettled(this.running), sleep(stopMs, undefined, { ref: false })]);
  }

  preflight(): Promise<PreflightRow[]> {
    return slackPreflight(this.api, this.options);
  }

  async history(channel: string, after: string | null, limit: number, signal: AbortSignal): Promise<IncomingMessage[]> {
    await this.knowOurselves(signal);
    const query = { channel, after, limit, lookbackDays: this.options.threadLookbackDays ?? 7 };
    return readHistory(this.api, this.people, this.botUserId, query, signal);
  }

  async fetchFile(_message: MessageRef, file: IncomingFile, path: string, maxBytes: number, signal: AbortSignal): Promise<void> {
    return download(this.api, file, path, maxBytes, signal);
  }

  post(to: Target, message: OutgoingMessage, key: string, signal: AbortSignal): Promise<MessageRef> {
    return this.publisher.post(to, message, key, signal);
  }

  edit(message: MessageRef, next: OutgoingMessage, signal: AbortSignal): Promise<void> {
    return this.publisher.edit(message, next, signal);
  }

  remove(message: MessageRef, signal: AbortSignal): Promise<void> {
    return this.publisher.remove(message, signal);
  }
}

/** The Slack adapter; nothing is connected before `start`, though `preflight` and all calls to Slack work without it. */
export function createSlackPlatform(options: SlackOptions): Platform {
  return new SlackPlatform(options);
}

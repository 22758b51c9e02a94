import { type APIMessage, type APIUser, GatewayDispatchEvents, type GatewayDispatchPayload, Routes } from 'discord.js';
import type { Command, Platform, PlatformError, PlatformEvents } from '../port.ts';
import { connectApi, type DiscordApi } from './api.ts';
import { registrationOf } from './commands.ts';
import { fetchFile } from './files.ts';
import { connectGateway } from './gateway.ts';
import { historian } from './history.ts';
import { incomingOf, isWritten, type MemberPart } from './incoming.ts';
import { answerInteraction } from './interactions.ts';
import { setMarks } from './marks.ts';
import { type DiscordOptions, defaultWords } from './options.ts';
import { maxFileBytes } from './outgoing.ts';
import { type Places, rememberPlaces } from './places.ts';
import { outbox } from './post.ts';
import { preflightRows } from './preflight.ts';

/** Reads a value once; a failed read is tried again at the next call. */
function once<T>(read: (signal: AbortSignal) => Promise<T>): (signal: AbortSignal) => Promise<T> {
  let value: Promise<T> | null = null;
  return (signal) => {
    value ??= read(signal).catch((error: unknown) => {
      value = null;
      throw error;
    });
    return value;
  };
}

async function registerCommands(api: DiscordApi, places: Places, options: DiscordOptions, body: unknown[], signal: AbortSignal) {
  const application = await api.call<{ id: string }>('GET', Routes.currentApplication(), signal);
  const found = await Promise.all(
    [...options.channels, options.coachChannel, options.moderatorChannel].flatMap((id) => (id ? [places.of(id, signal)] : [])),
  );
  for (const guild of new Set(found.flatMap((place) => (place ? [place.guild] : [])))) {
    await api.call('PUT', Routes.applicationGuildCommands(application.id, guild), signal, { body });
  }
}

/**
 * The Discord adapter. Passes on messages of the watched channels and their threads, new and edited, and all actions; never its own
 * messages. `events.onGap` is called at each new session (start, or a reconnect that could not be resumed).
 */
export function discordPlatform(options: DiscordOptions): Platform {
  const { log } = options;
  const words = { ...defaultWords, ...options.words };
  const api = connectApi(options.token, options.rest);
  const places = rememberPlaces(api);
  const me = once(async (signal) => (await api.call<APIUser>('GET', Routes.user('@me'), signal)).id);
  const watched = new Set(options.channels);
  const stopped = new AbortController();
  const outgoing = outbox(api, me, words.threadTitle);
  let closeGateway = async () => {};

  const dispatcher = (events: PlatformEvents, commands: Command[]) => {
    const guarded = (what: string, work: () => Promise<unknown>) => {
      if (stopped.signal.aborted) return;
      work().catch((error: unknown) => {
        if (!stopped.signal.aborted)
          log.error({ fault: error instanceof Error ? error.message : String(error) }, `discord: ${what} failed`);
      });
    };
    const passMessage = async (message: APIMessage & { guild_id?: string; member?: Partial<MemberPart> }) => {
      if (!message.guild_id || !message.author || !isWritten(message)) return;
      const place = await places.of(message.channel_id, stopped.signal);
      if (!place || !watched.has(place.channel) || message.author.id === (await me(stopped.signal)) || stopped.signal.aborted)
        return;
      await events.onMessage(incomingOf(message, place, message.member ?? null));
    };
    const desk = { api, places, commands, handle: events.onAction, words, deferAfterMs: options.deferAfterMs ?? 2000, log };
    return (payload: GatewayDispatchPayload) => {
      switch (payload.t) {
        case GatewayDispatchEvents.Ready:
          return guarded('the backfill', () => events.onGap('discord'));
        case GatewayDispatchEvents.ThreadCreate:
          return places.learn(payload.d);
        case GatewayDispatchEvents.MessageCreate:
        case GatewayDispatchEvents.MessageUpdate:
          return guarded('a message', () => passMessage(payload.d as never));
        case GatewayDispatchEvents.InteractionCreate:
          return guarded('an action', () => answerInteraction(desk, payload.d, stopped.signal));
      }
    };
  };

  const stop = async (reason: unknown = new Error('the Discord adapter was stopped')) => {
    stopped.abort(reason);
    await closeGateway();
  };

  return {
    name: 'discord',
    maxFileBytes,
    start: async (events, commands, signal) => {
      const registration = registrationOf(commands);
      const ending = AbortSignal.any([signal, stopped.signal]);
      ending.throwIfAborted();
      const onAbort = () => void stop(signal.reason);
      signal.addEventListener('abort', onAbort, { once: true });
      stopped.signal.addEventListener('abort', () => signal.removeEventListener('abort', onAbort), { once: true });
      const pace = options.identifyPace ?? { burst: 20, everyMs: 100_000 };
      const gateway = {
        token: options.token,
        rest: options.rest,
        pace,
        nowMs: () => performance.now(),
        log,
        onDispatch: dispatcher(events, commands),
        onLine: (fault: PlatformError | null) => void (stopped.signal.aborted || events.onLine('discord', fault)),
        afterFinalMs: options.afterFinalMs ?? 900_000,
      };
      closeGateway = await connectGateway(gateway, ending);
      if (ending.aborted) await closeGateway();
      await registerCommands(api, places, options, registration, ending).catch((error: unknown) => {
        if (ending.aborted) throw ending.reason;
        log.error({ fault: error instanceof Error ? error.message : String(error) }, 'discord: commands could not be registered');
      });
    },
    stop: () => stop(),
    preflight: () => preflightRows(api, options, AbortSignal.timeout(30_000)), // chosen: somebody waits for the table
    history: historian(api, places, me),
    fetchFile: (ref, file, path, maxBytes, signal) => fetchFile(api, ref, file, path, maxBytes, signal),
    setMarks: (ref, marks, signal) => setMarks(api, options.emoji, ref, marks, signal),
    ...outgoing,
  };
}

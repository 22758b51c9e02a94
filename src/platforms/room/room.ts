import { access, constants, copyFile, stat } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { Hono } from 'hono';
import type { Command, MessageRef, OutgoingMessage, Person, Platform, PlatformEvents, PreflightRow } from '../port.ts';
import { PlatformError } from '../port.ts';
import { type Passwords, passwordTrouble } from './door.ts';
import { copyOut, dropFiles, dropOrphans, newFileId } from './files.ts';
import { isLoopback } from './guard.ts';
import { makeLive } from './live.ts';
import { botPerson, millracePeople, type Role, type RoomChannels } from './people.ts';
import { listen, type Reach, roomRoutes } from './server.ts';
import { Sessions } from './sessions.ts';
import { RoomStore, type StoredFile, type StoredMessage } from './store.ts';
import { cleanName, cleanText } from './text.ts';
import type { SampleClip } from './uploads.ts';
import { incomingOf, refOf } from './view.ts';

export interface RoomOptions {
  /** Folder of the room's own data; made when missing. One process at a time. */
  dataFolder: string;
  /** Address to listen on, default 127.0.0.1; anything but loopback needs a password for members. */
  host?: string;
  /** Default 8420; 0 takes any free port. */
  port?: number;
  /** With one for members the room is shared: people come in by the password of their role, and a role without one is not offered. */
  passwords?: Partial<Passwords>;
  /** Names by which a shared room is reached, without port; literal addresses are always fine where it is bound elsewhere. */
  publicHosts?: string[];
  /** Default `clips`, `coaches`, `moderators`. */
  channels?: RoomChannels;
  /** Whom everybody can be in a room that is not shared; default the invented people of Millrace Barbell. */
  people?: Person[];
  community?: string;
  /** Largest clip that the page takes, bytes; default 200 MB. */
  maxUploadBytes?: number;
  sampleClip?: SampleClip | null;
  /** The least role that the page offers this command to; default members. The bot checks the person again on every act. */
  roleFor?: (command: Command) => Role;
  /** Threads are deleted with their files this long after their last message, days; default null: never. */
  keepDays?: number | null;
  /** Milliseconds since 1970. */
  now?: () => number;
  /** Told about faults that no one else sees: a handler that threw, a request that failed. */
  onError?: (error: unknown) => void;
}

/** The local room: a chat platform of its own on one page. */
export interface Room extends Platform {
  /** Routes added here before `start` stand before the room's guard: they guard themselves. */
  readonly app: Hono;
  /** The page's address, null while it does not listen. */
  address(): string | null;
  /** Address of the page that shows this message, null while it does not listen. */
  linkTo(message: MessageRef): string | null;
}

/** Milliseconds until the bot is asked to look for what it missed, after it failed to take a message. Chosen. */
const gapAfterFailureMs = 2000;

/** Milliseconds between two looks for what is old. Chosen: small beside the days that are set. */
const sweepEveryMs = 3_600_000;

/** Most files of private answers kept for the page to show; the oldest go first. Chosen. */
const maxPrivateFiles = 200;

const gone = (what: string) => new PlatformError('gone', what, { final: true, retryAfterMs: null });

/** Opens the room's store; nothing listens before `start`. Throws when the data folder cannot be written. */
export function createRoom(options: RoomOptions): Room {
  const dataFolder = resolve(options.dataFolder);
  const channels = options.channels ?? { clips: 'clips', coaches: 'coaches', moderators: 'moderators' };
  const reach: Reach = {
    host: options.host ?? '127.0.0.1',
    port: options.port ?? 8420,
    passwords: { member: null, coach: null, moderator: null, ...options.passwords },
    publicHosts: (options.publicHosts ?? []).map((name) => name.toLowerCase()),
  };
  // A name by which it is reached from elsewhere (through a proxy) says that it is.
  const isExposed = !isLoopback(reach.host) || reach.publicHosts.length > 0;
  const trouble = passwordTrouble(reach.passwords, isExposed);
  const now = options.now ?? Date.now;
  const onError = options.onError ?? (() => {});
  const maxUploadBytes = options.maxUploadBytes ?? 200_000_000;
  const sample = options.sampleClip ?? null;

  const store = new RoomStore(dataFolder);
  const folder = store.filesFolder;
  const live = makeLive(store, channels);
  const sessions = new Sessions((session) => void dropFiles(folder, [...session.uploads.values()]));
  const privateFiles = new Map<string, StoredFile>();
  const stopping = new AbortController();
  let bot: { events: PlatformEvents; commands: Command[] } | null = null;
  let sweep: NodeJS.Timeout | undefined;
  let server: { url: string; close(): Promise<void> } | null = null;

  const takeFiles = (message: OutgoingMessage): Promise<StoredFile[]> =>
    Promise.all(
      message.files.map(async (file) => {
        const id = newFileId();
        await copyFile(file.path, join(folder, id));
        const { size } = await stat(join(folder, id));
        const alt = file.alt === null ? null : cleanText(file.alt);
        return { id, name: cleanName(file.name, 120, 'file'), contentType: null, bytes: size, alt };
      }),
    );
  const contentOf = async ({ buttons, choices, mention, ...message }: OutgoingMessage) => {
    const files = await takeFiles({ buttons, choices, mention, ...message });
    return { text: cleanText(message.text), files, buttons, choices, mention };
  };
  const standing = (ref: MessageRef): StoredMessage => {
    const message = store.message(ref.message);
    if (message === null || message.removed) throw gone(`message ${ref.message} is not in the room any more`);
    return message;
  };
  const known = (channel: string) => {
    if (!Object.values(channels).includes(channel)) throw gone(`the room has no channel ${channel}`);
  };

  const deleteOld = async () => {
    const keepDays = options.keepDays ?? null;
    if (keepDays === null) return;
    const keepMs = keepDays * 24 * 3_600_000;
    const old = store.removeUntil(now() - keepMs, now() - 2 * keepMs);
    await dropFiles(
      folder,
      old.flatMap(({ files }) => files),
    );
  };
  const gapLater = async () => {
    await wait(gapAfterFailureMs, undefined, { signal: stopping.signal });
    await bot?.events.onGap('room');
  };
  const parts = {
    ...{ store, sessions, live, channels, maxUploadBytes, sample, now, signal: stopping.signal },
    people: options.people ?? millracePeople,
    community: options.community ?? 'Millrace Barbell',
    shared: reach.passwords.member !== null,
    commands: () => bot?.commands ?? [],
    roleFor: options.roleFor ?? (() => 'member'),
    deliver: (message: StoredMessage) => {
      bot?.events.onMessage(incomingOf(message)).catch((error: unknown) => {
        onError(error);
        gapLater().catch((later: unknown) => stopping.signal.aborted || onError(later));
      });
    },
    act: (action: Parameters<PlatformEvents['onAction']>[0]) => bot?.events.onAction(action) ?? null,
    takeFiles: async (message: OutgoingMessage) => {
      const files = await takeFiles(message);
      for (const file of files) privateFiles.set(file.id, file);
      const old = [...privateFiles.values()].slice(0, Math.max(0, privateFiles.size - maxPrivateFiles));
      for (const file of old) privateFiles.delete(file.id);
      await dropFiles(folder, old);
      return files;
    },
  };
  const app = new Hono();

  return {
    name: 'room',
    maxFileBytes: maxUploadBytes,
    app,
    address: () => server?.url ?? null,
    linkTo: (message) => (server === null ? null : `${server.url}/#m${message.message}`),

    async start(events, commands, signal) {
      signal.throwIfAborted();
      if (trouble !== null)
        throw new PlatformError('refused', `The room is not opened: ${trouble}.`, { final: true, retryAfterMs: null });
      await deleteOld();
      dropOrphans(folder, new Set(store.messages().flatMap((message) => message.files.map((file) => file.id))));
      bot = { events, commands };
      app.route(
        '/',
        roomRoutes(parts, reach, (id) => privateFiles.get(id) ?? store.file(id), onError),
      );
      server = await listen(app, reach);
      sweep = setInterval(() => void deleteOld().catch(onError), sweepEveryMs);
      sweep.unref();
      signal.addEventListener('abort', () => void this.stop(), { once: true, signal: stopping.signal });
      await events.onGap('room');
    },

    async stop() {
      if (stopping.signal.aborted) return;
      bot = null;
      stopping.abort();
      clearInterval(sweep);
      live.stop();
      await server?.close();
      server = null;
      store.close();
    },

    async preflight() {
      const rows: PreflightRow[] = [];
      const row = (what: string, ok: boolean, found: string, fix: string) => rows.push({ what, ok, found, fix: ok ? '' : fix });
      const writable = await access(folder, constants.W_OK).then(
        () => true,
        () => false,
      );
      row(
        'room: data folder',
        writable,
        writable ? 'can be written' : 'cannot be written',
        'Give this user the right to write there.',
      );
      const lines = store.damaged === 0 ? 'all lines can be read' : `${store.damaged} lines cannot be read`;
      row(
        'room: journal',
        store.damaged === 0,
        lines,
        'These lines are skipped; restore room.jsonl from a backup if posts are missing.',
      );
      const { member, coach, moderator } = reach.passwords;
      const offered = [member && 'members', coach && 'coaches', moderator && 'moderators'].filter(Boolean);
      const where = isExposed ? [reach.host, ...reach.publicHosts].join(', ') : 'this computer only';
      const how = offered.length === 0 ? 'no password' : `passwords for ${offered.join(', ')}`;
      const fix =
        'Set ROOM_PASSWORD, and one of their own for coaches (ROOM_COACH_PASSWORD) and moderators (ROOM_MODERATOR_PASSWORD), or bind the room to 127.0.0.1.';
      row('room: address', trouble === null, trouble ?? (isExposed || offered.length > 0 ? `${where}; ${how}` : where), fix);
      if (sample !== null) {
        const there = await stat(sample.path).then(
          (found) => found.isFile(),
          () => false,
        );
        row(
          'room: sample clip',
          there,
          there ? 'there' : 'missing',
          'Make the sample clip again or take it out of the settings.',
        );
      }
      return rows;
    },

    async history(channel, after, limit, signal) {
      signal.throwIfAborted();
      known(channel);
      return store
        .messages()
        .filter((message) => message.channel === channel && !message.removed && !message.author.isBot && message.files.length > 0)
        .filter((message) => after === null || Number(message.id) > Number(after))
        .slice(0, limit)
        .map(incomingOf);
    },

    async fetchFile(message, file, path, maxBytes, signal) {
      const stored = standing(message).files.find((one) => one.id === file.id);
      if (stored === undefined) throw gone(`${file.name} is not in the message any more`);
      await copyOut(folder, stored, path, maxBytes, signal);
    },

    async setMarks(message, marks, signal) {
      signal.throwIfAborted();
      const next = [...new Set(marks)];
      const old = standing(message);
      if (old.marks.join() !== next.join()) store.change(old.id, { marks: next });
    },

    async post(to, message, key, signal) {
      signal.throwIfAborted();
      known(to.channel);
      const earlier = store.byKey(`bot:${key}`);
      if (earlier !== null) return refOf(earlier);
      const start = to.message === null ? null : standing(to.message);
      const content = await contentOf(message);
      const { channel } = to;
      const thread = start === null ? null : (start.thread ?? start.id);
      const stored = signal.aborted
        ? null
        : store.add({ ...content, channel, thread, author: botPerson, key: `bot:${key}`, sentAtMs: now() });
      // The same key, posted meanwhile: these copies are not needed.
      if (stored?.isNew !== true) await dropFiles(folder, content.files);
      signal.throwIfAborted();
      return refOf(stored!.message);
    },

    async edit(message, next, signal) {
      signal.throwIfAborted();
      const old = standing(message);
      const content = await contentOf(next);
      // An edit without files leaves those that stand.
      const files = content.files.length === 0 ? old.files : content.files;
      const changed = store.change(old.id, { ...content, files, edited: true });
      if (content.files.length > 0) await dropFiles(folder, changed === null ? content.files : old.files);
      if (changed === null) throw gone(`message ${message.message} is not in the room any more`);
    },

    async remove(message, signal) {
      signal.throwIfAborted();
      const old = store.remove(message.message);
      if (old !== null) await dropFiles(folder, old.files);
    },
  };
}

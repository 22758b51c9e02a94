import type { HttpBindings } from '@hono/node-server';
import { type Context, Hono } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import { z } from 'zod';
import type { Action, ActionReply, Command, OutgoingMessage, Person } from '../port.ts';
import { checkAction, RefusedAct } from './actions.ts';
import { dropFiles } from './files.ts';
import { refuse } from './guard.ts';
import type { makeLive } from './live.ts';
import { isAtLeast, personOf, type Role, type RoomChannels, readable } from './people.ts';
import { hold, type Session, type Sessions } from './sessions.ts';
import type { RoomStore, StoredFile, StoredMessage } from './store.ts';
import { cleanName, cleanText } from './text.ts';
import { type SampleClip, uploadRoutes } from './uploads.ts';
import { formView, privateView, viewOf } from './view.ts';

/** What the routes need of the room. */
export interface RoomParts {
  store: RoomStore;
  sessions: Sessions;
  live: ReturnType<typeof makeLive>;
  channels: RoomChannels;
  people: Person[];
  community: string;
  /** Whether people come in by passwords; else only this computer reaches the page, and everybody chooses who to be. */
  shared: boolean;
  maxUploadBytes: number;
  sample: SampleClip | null;
  now: () => number;
  signal: AbortSignal;
  commands(): Command[];
  /** The least role that this command is offered to. */
  roleFor(command: Command): Role;
  /** Hands a message to the bot; never throws. */
  deliver(message: StoredMessage): void;
  /** Null while no bot listens. */
  act(action: Action): Promise<ActionReply> | null;
  /** Copies the files of a message of ours into the room. */
  takeFiles(message: OutgoingMessage): Promise<StoredFile[]>;
}

/** `visitor`: who came in by the door; null where it stands open. */
export type RoomEnv = { Bindings: HttpBindings; Variables: { session: Session; visitor: Person | null } };

/** Longest caption in characters, clips of one post, and threads that one look at a channel brings. */
const maxText = 4000; // chosen: no caption is longer, and it is twice what Discord takes
const maxFiles = 10; // as on Discord, so that the room shows the same
const pageSize = 40; // chosen: some screens, quick to draw

const Id = z.string().max(200); // chosen: above the ids of our buttons (100) and of files
const Posted = z.strictObject({
  channel: Id,
  thread: Id.nullable(),
  text: z.string().max(100_000),
  files: z.array(Id).max(maxFiles),
  nonce: z.string().regex(/^[\w-]{8,64}$/),
});
/** `files` in place of those that stand, null to leave them; `add` goes to them. */
const Edited = z.strictObject({
  text: z.string().max(100_000),
  files: z.array(Id).max(maxFiles).nullable(),
  add: z.array(Id).max(maxFiles).default([]),
});
const Acted = z.strictObject({
  kind: z.enum(['button', 'choice', 'form', 'command']),
  id: Id,
  nonce: z.string().regex(/^[\w-]{8,64}$/),
  message: Id.optional(),
  key: Id.optional(),
  channel: Id.optional(),
  values: z.record(Id, z.string().max(20_000)), // chosen: above any field of ours but pasted rules
});

/** The page's requests, under `/api`. All but `people`, `enter` and `events` ask for the session's token in the header `x-room-session`. */
export function apiRoutes(room: RoomParts): Hono<RoomEnv> {
  const { store, sessions, channels } = room;
  const everyone = (visitor: Person | null) => (visitor === null ? [...room.people, ...store.people()] : [visitor]);
  const api = new Hono<RoomEnv>();
  const small = bodyLimit({
    maxSize: 128 * 1024, // chosen: above the 100,000 characters of a text that are read before it is cut
    onError: (c) => refuse(c, 413, 'too-long', 'That is too much text for one message.'),
  });
  // A tab's session is of no use to another visitor.
  const sessionOf = (c: Context<RoomEnv>, token: string | undefined) => {
    const session = sessions.find(token);
    const visitor = c.get('visitor');
    return visitor === null || session?.person.id === visitor.id ? session : null;
  };
  const noSession = 'Please choose again who you are: the room was started anew.';

  api.get('/people', (c) => {
    const people = everyone(c.get('visitor')).map(({ id, name, groups }) => ({ id, name, role: groups[0] }));
    const { community, shared, maxUploadBytes, sample } = room;
    return c.json({ people, community, shared, maxUploadBytes, sample: sample?.caption ?? null });
  });

  api.post('/people', small, async (c) => {
    if (c.get('visitor') !== null) return refuse(c, 403, 'forbidden', 'Leave the room first to come in by another name.');
    const { name } = z.strictObject({ name: z.string().max(1000) }).parse(await c.req.json());
    const clean = cleanName(name, 40, ''); // chosen: fits the head of a post on a phone
    if (clean === '') return refuse(c, 400, 'incomplete', 'Please type a name.');
    if ([...room.people, ...store.people()].some((person) => person.name.toLowerCase() === clean.toLowerCase()))
      return refuse(c, 409, 'taken', 'Someone here has that name already.');
    if (store.people().length >= 200) return refuse(c, 409, 'full', 'This room has as many names as it takes.');
    const person = personOf(`guest-${store.seq + 1}`, clean, 'member');
    store.addPerson(person, null);
    return c.json({ id: person.id, name: clean, role: 'member' });
  });

  api.post('/enter', small, async (c) => {
    const { person } = z.strictObject({ person: Id }).parse(await c.req.json());
    const found = everyone(c.get('visitor')).find((one) => one.id === person);
    if (found === undefined) return refuse(c, 404, 'no-such-person', 'Nobody here has that name.');
    return c.json({ session: sessions.enter(found).token });
  });

  // An EventSource cannot set headers; reading is all that this address allows.
  api.get('/events', (c) => {
    const session = sessionOf(c, c.req.query('session'));
    if (session === null) return refuse(c, 401, 'no-session', noSession);
    const after = Number(c.req.header('last-event-id') ?? c.req.query('after') ?? 0);
    return room.live.open(session.person, Number.isFinite(after) ? after : 0);
  });

  api.use('*', async (c, next) => {
    const session = sessionOf(c, c.req.header('x-room-session'));
    if (session === null) return refuse(c, 401, 'no-session', noSession);
    c.set('session', session);
    return next();
  });

  const standing = () => store.messages().filter((message) => !message.removed);
  const threadsOf = (channel: string, before: string | null) => {
    const all = standing().filter((message) => message.channel === channel);
    const starts = all.filter((message) => message.thread === null && (before === null || Number(message.id) < Number(before)));
    const page = new Set(starts.slice(-pageSize).map((message) => message.id));
    const messages = all.filter((message) => page.has(message.thread ?? message.id)).map(viewOf);
    return { messages, older: starts.length > pageSize };
  };

  api.get('/state', (c) => {
    const { person } = c.get('session');
    const mine = readable(person, channels);
    const seq = store.seq;
    const commands = room
      .commands()
      .map((command) => ({ ...command, role: room.roleFor(command) }))
      .filter(({ role }) => isAtLeast(person, role));
    const me = { id: person.id, name: person.name, role: person.groups[0] };
    const byChannel = mine.map((id) => {
      const kind = (Object.keys(channels) as (keyof RoomChannels)[]).find((key) => channels[key] === id);
      return { id, kind, ...threadsOf(id, null) };
    });
    return c.json({ me, commands, seq, channels: byChannel });
  });

  api.get('/threads', (c) => {
    const channel = c.req.query('channel') ?? '';
    if (!readable(c.get('session').person, channels).includes(channel))
      return refuse(c, 403, 'forbidden', 'You cannot see that channel.');
    return c.json(threadsOf(channel, c.req.query('before') ?? null));
  });

  api.get('/threads/:id', (c) => {
    const start = store.message(c.req.param('id'));
    if (start === null || start.removed || !readable(c.get('session').person, channels).includes(start.channel))
      return refuse(c, 404, 'gone', 'That post is not here (any more).');
    const root = start.thread ?? start.id;
    const messages = standing().filter((message) => (message.thread ?? message.id) === root);
    return c.json({ messages: messages.map(viewOf) });
  });

  api.route(
    '/files',
    uploadRoutes({ folder: store.filesFolder, maxBytes: room.maxUploadBytes, sample: room.sample, signal: room.signal }),
  );

  const takeUploads = (session: Session, keys: string[]): StoredFile[] | null => {
    const files = keys.map((key) => session.uploads.get(key));
    return files.every((file) => file !== undefined) ? files : null;
  };
  const tooLong = `A caption takes at most ${maxText} characters.`;

  api.post('/messages', small, async (c) => {
    const session = c.get('session');
    const sent = Posted.parse(await c.req.json());
    const key = `by:${session.person.id}:${sent.nonce}`;
    const earlier = store.byKey(key);
    if (earlier !== null) {
      room.deliver(earlier);
      return c.json(viewOf(earlier));
    }
    if (sent.channel !== channels.clips) return refuse(c, 403, 'forbidden', 'Clips are posted among the clips.');
    const start = sent.thread === null ? null : store.message(sent.thread);
    if (sent.thread !== null && (start === null || start.removed || start.thread !== null || start.channel !== sent.channel))
      return refuse(c, 404, 'gone', 'The post you answer is not here any more.');
    const text = cleanText(sent.text).trim();
    if (text.length > maxText) return refuse(c, 413, 'too-long', tooLong);
    const files = takeUploads(session, sent.files);
    if (files === null)
      return refuse(c, 409, 'stale', 'The room was started again since that upload. Please choose the file again.');
    if (text === '' && files.length === 0) return refuse(c, 400, 'incomplete', 'Choose a clip or write something.');
    const { channel, thread } = sent;
    const { message } = store.add({ channel, thread, author: session.person, text, files, key, sentAtMs: room.now() });
    for (const file of sent.files) session.uploads.delete(file);
    room.deliver(message);
    return c.json(viewOf(message));
  });

  api.put('/messages/:id', small, async (c) => {
    const session = c.get('session');
    const sent = Edited.parse(await c.req.json());
    const old = store.message(c.req.param('id'));
    if (old === null || old.removed) return refuse(c, 404, 'gone', 'That post is not here any more.');
    if (old.author.id !== session.person.id) return refuse(c, 403, 'forbidden', 'Only its author can change a post.');
    const text = cleanText(sent.text).trim();
    if (text.length > maxText) return refuse(c, 413, 'too-long', tooLong);
    const keys = [...(sent.files ?? []), ...sent.add];
    const uploads = takeUploads(session, keys);
    if (uploads === null)
      return refuse(c, 409, 'stale', 'The room was started again since that upload. Please choose the file again.');
    const files = [...(sent.files === null ? old.files : []), ...uploads];
    if (files.length > maxFiles) return refuse(c, 413, 'too-many', `A post takes at most ${maxFiles} clips.`);
    const message = store.change(old.id, { text, files, edited: true });
    if (message === null) return refuse(c, 404, 'gone', 'That post is not here any more.');
    if (sent.files !== null) await dropFiles(store.filesFolder, old.files);
    for (const file of keys) session.uploads.delete(file);
    room.deliver(message);
    return c.json(viewOf(message));
  });

  api.delete('/messages/:id', async (c) => {
    const old = store.message(c.req.param('id'));
    if (old === null || old.removed) return c.json({});
    if (old.author.id !== c.get('session').person.id) return refuse(c, 403, 'forbidden', 'Only its author can take a post back.');
    store.remove(old.id);
    await dropFiles(store.filesFolder, old.files);
    return c.json({});
  });

  api.post('/actions', small, async (c) => {
    const session = c.get('session');
    const action = checkAction(Acted.parse(await c.req.json()), session, store, channels, room.commands());
    const answer = room.act(action);
    if (answer === null) return refuse(c, 409, 'no-bot', 'The bot is not listening right now. Please try again in a moment.');
    const reply = await answer;
    if (reply.kind === 'nothing') return c.json({ kind: 'nothing' });
    if (reply.kind === 'form') {
      const { key } = hold(session.forms, { form: reply.form, where: action.where, channel: action.channel });
      return c.json(formView(key, reply.form));
    }
    const files = await room.takeFiles(reply.message);
    const message = { ...reply.message, text: cleanText(reply.message.text) };
    const { key } = hold(session.privates, { message, channel: action.channel });
    return c.json(privateView(key, message, files));
  });

  api.onError((error, c) => {
    if (error instanceof RefusedAct) return refuse(c, error.code === 'forbidden' ? 403 : 409, error.code, error.message);
    if (error instanceof z.ZodError || error instanceof SyntaxError)
      return refuse(c, 400, 'bad-request', 'The room did not understand that request.');
    throw error;
  });
  return api;
}

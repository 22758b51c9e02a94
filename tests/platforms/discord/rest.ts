/** The REST half of the pretended Discord: every request and answer is checked by the official schemas, and by what they do not say. */
import { wrongCommands, wrongFlags, wrongMessage, wrongModal } from './limits.ts';
import { type Channel, type Message, message, newer, reaction, stored, thread, timeOf } from './shapes.ts';
import { type Json, wrongItem, wrongWith } from './spec.ts';
import type { Interaction, State } from './state.ts';

export interface Call {
  params: string[];
  query: URLSearchParams;
  body: Json;
  files: Map<string, { name: string; body: Buffer; type: string }>;
}

export interface Answer {
  status: number;
  body?: unknown;
}

interface Route {
  method: string;
  path: RegExp;
  /** Names of request schemas, null for no body. */
  takes: string[] | null;
  /** Schema of a 200 answer; `[name]` for a list of them. */
  gives: string | [string] | null;
  open?: true;
  handle: (call: Call) => Answer;
}

const no = (status: number, code: number, text: string): Answer => ({ status, body: { code, message: text } });
const gone = () => no(404, 10008, 'Unknown Message');
const bad = (text: string) => no(400, 50035, `Invalid Form Body: ${text}`);
export function restRoutes(state: State, dispatch: (type: string, data: Json) => void): Route[] {
  const shown = (m: Message): Message => ({
    ...m,
    attachments: m.attachments.map((a) => ({ ...a, url: `${a.url}?ex=1&is=1&hm=${state.signature}`, proxy_url: a.url })),
  });
  const inChannel = (id: string) => [...state.messages.values()].filter((m) => m.channel_id === id).sort(newer);
  const keepFiles = (channel: string, body: Json, files: Call['files']) =>
    [...files].map(([field, file], i) => {
      const id = state.nextId();
      const told = ((body.attachments ?? []) as Json[]).find((a) => `files[${a.id}]` === field);
      state.files.set(id, { body: file.body, type: file.type, instead: null });
      const url = `${state.files.size > 0 ? cdn(state) : ''}/attachments/${channel}/${id}/${encodeURIComponent(file.name)}`;
      const description = told?.description as string | undefined;
      return {
        id,
        filename: file.name,
        size: file.body.length,
        url,
        proxy_url: url,
        order: i,
        ...(description && { description }),
      };
    });
  const attach = (channel: string, body: Json, files: Call['files']) =>
    keepFiles(channel, body, files).map(({ order: _, ...rest }) => rest);

  const post = ({ params: [channel = ''], body, files }: Call): Answer => {
    const place = state.channels.get(channel);
    if (!place || place.type === 15) return no(404, 10003, 'Unknown Channel');
    const wrong = wrongMessage(body, files) ?? (wrongFlags(body, false) ? 'flags' : null);
    if (wrong) return bad(wrong);
    const nonce = typeof body.nonce === 'string' ? `${channel}/${body.nonce}` : null;
    const earlier = nonce && body.enforce_nonce ? state.nonces.get(nonce) : undefined;
    if (earlier) return { status: 200, body: { ...outward(shown(state.messages.get(earlier)!)), nonce: body.nonce } };
    const id = state.nextId();
    const made = message(id, channel, state.bot, String(body.content ?? '').trim(), attach(channel, body, files), {
      components: stored((body.components ?? []) as Json[]),
      flags: Number(body.flags ?? 0),
    });
    made.allowed = body.allowed_mentions;
    state.messages.set(id, made);
    place.last_message_id = id;
    if (nonce) state.nonces.set(nonce, id);
    dispatch('MESSAGE_CREATE', outward(shown(made)));
    return { status: 200, body: { ...outward(shown(made)), ...(nonce && { nonce: body.nonce }) } };
  };

  const edit = ({ params: [channel = '', id = ''], body, files }: Call): Answer => {
    const old = state.messages.get(id);
    if (!old || old.channel_id !== channel) return gone();
    if (old.author.id !== state.bot.id) return no(403, 50005, 'Cannot edit a message authored by another user');
    const wrong = wrongMessage({ attachments: [], ...body }, files) ?? (wrongFlags(body, false) ? 'flags' : null);
    if (wrong) return bad(wrong);
    if (body.content !== undefined) old.content = String(body.content).trim();
    if (body.components !== undefined) old.components = stored(body.components as Json[]);
    if (body.attachments !== undefined) old.attachments = attach(channel, body, files);
    old.allowed = body.allowed_mentions;
    old.edited_timestamp = timeOf(state.nextId());
    dispatch('MESSAGE_UPDATE', outward(shown(old)));
    return { status: 200, body: outward(shown(old)) };
  };

  const list = ({ params: [channel = ''], query }: Call): Answer => {
    if (!state.channels.has(channel)) return no(404, 10003, 'Unknown Channel');
    const limit = Number(query.get('limit') ?? 50);
    if (!(limit >= 1 && limit <= 100)) return bad('limit: 1 to 100');
    const after = query.get('after');
    const all = inChannel(channel).filter((m) => after === null || BigInt(m.id) > BigInt(after));
    // With `after`, the oldest ones behind it; the newest stand first in every answer.
    const page = after === null ? all.slice(0, limit) : all.slice(-limit);
    return { status: 200, body: page.map((m) => outward(shown(m))) };
  };

  const startThread = ({ params: [channel = '', id = ''], body }: Call): Answer => {
    const start = state.messages.get(id);
    if (!start || start.channel_id !== channel) return gone();
    if (state.channels.has(id)) return no(400, 160004, 'A thread has already been created for this message');
    const made = thread(id, state.guild, channel, String(body.name), state.bot.id);
    state.channels.set(id, made);
    start.thread = made;
    const notice = message(state.nextId(), id, start.author, '', [], { type: 21 });
    state.messages.set(notice.id, notice);
    dispatch('THREAD_CREATE', { ...made, newly_created: true });
    return { status: 201, body: made };
  };

  const react =
    (add: boolean) =>
    ({ params: [channel = '', id = '', emoji = ''] }: Call): Answer => {
      const target = state.messages.get(id);
      if (!target || target.channel_id !== channel) return gone();
      if (!/^(\w+:\d+|\p{Extended_Pictographic}.*)$/u.test(emoji)) return no(400, 10014, 'Unknown Emoji');
      const same = (r: { emoji: { id: string | null; name: string }; me: boolean }) =>
        r.me && (r.emoji.id ? `${r.emoji.name}:${r.emoji.id}` : r.emoji.name) === emoji;
      const others = (target.reactions ?? []).filter((r) => !same(r));
      target.reactions = add ? [...others, reaction(emoji, true)] : others;
      if (target.reactions.length === 0) delete target.reactions;
      return { status: 204 };
    };

  const threads = (channel: string | null, archived: boolean) => {
    const found = [...state.channels.values()].filter((c): c is Extract<Channel, { type: 11 }> => c.type === 11);
    const wanted = found.filter((c) => c.thread_metadata.archived === archived && (channel === null || c.parent_id === channel));
    return wanted.sort((a, b) => (a.thread_metadata.archive_timestamp < b.thread_metadata.archive_timestamp ? 1 : -1));
  };

  const callback = ({ params: [id = '', token = ''], body, files }: Call): Answer => {
    const it = state.interactions.get(id);
    if (!it || it.token !== token || it.state === 'void') return no(404, 10062, 'Unknown interaction');
    if (it.state !== 'open') return no(400, 40060, 'Interaction has already been acknowledged.');
    const data = (body.data ?? {}) as Json;
    const type = body.type;
    const wrong =
      (type === 4 ? (wrongMessage(data, files) ?? (wrongFlags(data, true) ? 'flags' : null)) : null) ??
      (type === 9 ? wrongModal(data) : null) ??
      (type === 9 && it.type === 5 ? 'no form in answer to a form' : null) ??
      ((type === 6 || type === 7) && !it.withMessage ? 'no message to leave as it is' : null);
    if (wrong) return bad(wrong);
    it.state = type === 5 ? 'deferred' : 'answered';
    if ((type === 4 || type === 5) && (Number(data.flags) & 64) === 0)
      state.wrongs.push('an answer to one person was shown to all');
    if (type === 4) tell(it, data);
    if (type === 6) it.resolve({ kind: 'nothing' });
    if (type === 9) it.resolve(formSeen(data));
    return { status: 204 };
  };

  const hook =
    (handle: (it: Interaction, call: Call) => Answer) =>
    (call: Call): Answer => {
      const it = [...state.interactions.values()].find((i) => i.token === call.params[1]);
      if (!it || it.state === 'void' || it.state === 'open') return no(404, 10015, 'Unknown Webhook');
      return handle(it, call);
    };
  const asMessage = (body: Json) => message(state.nextId(), '801', state.bot, String(body.content ?? ''), [], { flags: 64 });
  const followUp = (it: Interaction, { body, files }: Call): Answer => {
    const wrong = wrongMessage(body, files);
    if (wrong) return bad(wrong);
    if (it.state === 'answered' && (Number(body.flags) & 64) === 0)
      state.wrongs.push('a follow-up to one person was shown to all');
    it.state = 'answered';
    tell(it, body);
    return { status: 200, body: asMessage(body) };
  };

  return [
    {
      method: 'GET',
      path: /^\/gateway\/bot$/,
      takes: null,
      gives: 'GatewayBotResponse',
      handle: () => ({ status: 200, body: gatewayBot(state) }),
    },
    {
      method: 'GET',
      path: /^\/users\/@me$/,
      takes: null,
      gives: 'UserPIIResponse',
      handle: () => ({ status: 200, body: { ...state.bot, mfa_enabled: true, locale: 'en-US' } }),
    },
    {
      method: 'GET',
      path: /^\/applications\/@me$/,
      takes: null,
      gives: 'PrivateApplicationResponse',
      handle: () => ({ status: 200, body: state.app }),
    },
    {
      method: 'PUT',
      path: /^\/applications\/901\/guilds\/700\/commands$/,
      takes: ['[ApplicationCommandUpdateRequest]'],
      gives: ['ApplicationCommandResponse'],
      handle: ({ body }) => putCommands(state, body as never),
    },
    {
      method: 'GET',
      path: /^\/guilds\/700\/roles$/,
      takes: null,
      gives: ['GuildRoleResponse'],
      handle: () => ({ status: 200, body: state.roles }),
    },
    {
      method: 'GET',
      path: /^\/guilds\/700\/members\/(\d+)$/,
      takes: null,
      gives: 'GuildMemberResponse',
      handle: ({ params: [id = ''] }) =>
        state.members.has(id) ? { status: 200, body: state.members.get(id) } : no(404, 10007, 'Unknown Member'),
    },
    {
      method: 'GET',
      path: /^\/guilds\/700\/threads\/active$/,
      takes: null,
      gives: 'ThreadsResponse',
      handle: () => ({ status: 200, body: { threads: threads(null, false), members: [], has_more: false } }),
    },
    {
      method: 'GET',
      path: /^\/channels\/(\d+)\/threads\/archived\/public$/,
      takes: null,
      gives: 'ThreadsResponse',
      handle: ({ params: [channel = ''], query }) => {
        const before = query.get('before');
        const all = threads(channel, true).filter((t) => before === null || t.thread_metadata.archive_timestamp < before);
        const limit = Number(query.get('limit') ?? 50);
        return { status: 200, body: { threads: all.slice(0, limit), members: [], has_more: all.length > limit } };
      },
    },
    {
      method: 'GET',
      path: /^\/channels\/(\d+)$/,
      takes: null,
      gives: null,
      handle: ({ params: [id = ''] }) => {
        const found = state.channels.get(id);
        const wrong = found && wrongWith(['GuildChannelResponse', 'ThreadResponse'], found);
        if (wrong) state.wrongs.push(`fake channel: ${wrong}`);
        return found ? { status: 200, body: found } : no(404, 10003, 'Unknown Channel');
      },
    },
    { method: 'GET', path: /^\/channels\/(\d+)\/messages$/, takes: null, gives: ['MessageResponse'], handle: list },
    {
      method: 'POST',
      path: /^\/channels\/(\d+)\/messages$/,
      takes: ['MessageCreateRequest'],
      gives: 'MessageResponse',
      handle: post,
    },
    {
      method: 'GET',
      path: /^\/channels\/(\d+)\/messages\/(\d+)$/,
      takes: null,
      gives: 'MessageResponse',
      handle: ({ params: [channel, id = ''] }) => {
        const found = state.messages.get(id);
        return found && found.channel_id === channel ? { status: 200, body: outward(shown(found)) } : gone();
      },
    },
    {
      method: 'PATCH',
      path: /^\/channels\/(\d+)\/messages\/(\d+)$/,
      takes: ['MessageEditRequestPartial'],
      gives: 'MessageResponse',
      handle: edit,
    },
    {
      method: 'DELETE',
      path: /^\/channels\/(\d+)\/messages\/(\d+)$/,
      takes: null,
      gives: null,
      handle: ({ params: [channel, id = ''] }) =>
        state.messages.get(id)?.channel_id === channel && state.messages.delete(id) ? { status: 204 } : gone(),
    },
    {
      method: 'POST',
      path: /^\/channels\/(\d+)\/messages\/(\d+)\/threads$/,
      takes: ['CreateTextThreadWithMessageRequest'],
      gives: 'CreatedThreadResponse',
      handle: startThread,
    },
    {
      method: 'PUT',
      path: /^\/channels\/(\d+)\/messages\/(\d+)\/reactions\/([^/]+)\/@me$/,
      takes: null,
      gives: null,
      handle: react(true),
    },
    {
      method: 'DELETE',
      path: /^\/channels\/(\d+)\/messages\/(\d+)\/reactions\/([^/]+)\/@me$/,
      takes: null,
      gives: null,
      handle: react(false),
    },
    {
      method: 'POST',
      path: /^\/interactions\/(\d+)\/([^/]+)\/callback$/,
      open: true,
      gives: null,
      handle: callback,
      takes: [
        'CreateMessageInteractionCallbackRequest',
        'UpdateMessageInteractionCallbackRequest',
        'ModalInteractionCallbackRequest',
      ],
    },
    {
      method: 'PATCH',
      path: /^\/webhooks\/(901)\/([^/]+)\/messages\/@original$/,
      open: true,
      takes: ['IncomingWebhookUpdateRequestPartial'],
      gives: 'MessageResponse',
      handle: hook(followUp),
    },
    {
      method: 'POST',
      path: /^\/webhooks\/(901)\/([^/]+)$/,
      open: true,
      takes: ['IncomingWebhookRequestPartial'],
      gives: 'MessageResponse',
      handle: hook(followUp),
    },
    {
      method: 'DELETE',
      path: /^\/webhooks\/(901)\/([^/]+)\/messages\/@original$/,
      open: true,
      takes: null,
      gives: null,
      handle: hook((it) => {
        it.state = 'answered';
        it.resolve({ kind: 'nothing' });
        return { status: 204 };
      }),
    },
  ];
}

/** A stored message as sent out: without the fake's own notes. */
export function outward(m: Message): Message {
  const { allowed: _, ...rest } = m;
  return rest as Message;
}

export const cdn = (state: State) => (state as State & { origin?: string }).origin ?? '';

const gatewayBot = (state: State) => ({
  url: `${cdn(state).replace('http', 'ws')}/gateway`,
  shards: 1,
  session_start_limit: { total: 1000, remaining: state.sessionsLeft, reset_after: 3_600_000, max_concurrency: 1 },
});

function tell(it: Interaction, body: Json): void {
  it.bodies.push(body);
  it.texts.push(String(body.content ?? ''));
  it.resolve({ kind: 'private', text: '' });
}

const formSeen = (data: Json) => ({
  kind: 'form' as const,
  id: String(data.custom_id),
  title: String(data.title),
  fields: (data.components as Json[]).map((label) => {
    const input = label.component as Json;
    return { id: String(input.custom_id), label: String(label.label), required: input.required !== false };
  }),
});

function putCommands(state: State, commands: Json[]): Answer {
  const wrong = wrongCommands(commands);
  if (wrong) return bad(wrong);
  state.commands = commands;
  const kept = commands.map((command) => ({
    id: state.nextId(),
    application_id: '901',
    version: state.nextId(),
    default_member_permissions: null,
    type: 1,
    guild_id: '700',
    ...command,
  }));
  return { status: 200, body: kept };
}

/** Answers one call; what Discord would refuse and what breaks a schema is written into `state.wrongs`. */
export function answerCall(
  state: State,
  routes: Route[],
  method: string,
  path: string,
  token: string | undefined,
  call: Omit<Call, 'params'>,
): Answer {
  const known = routes
    .map((route) => ({ route, hit: route.method === method ? route.path.exec(path) : null }))
    .find(({ hit }) => hit);
  if (!known?.hit) {
    state.wrongs.push(`unexpected call ${method} ${path}`);
    return no(404, 0, '404: Not Found');
  }
  const { route, hit } = known;
  if (!route.open && token !== `Bot ${state.token}`) return no(401, 0, '401: Unauthorized');
  const answer = withBody(state, route, call) ?? route.handle({ ...call, params: hit.slice(1).map(decodeURIComponent) });
  // 40060 follows from a press delivered twice, 160004 from two processes that start one thread: no fault of the bot.
  if (answer.status === 400 && ![40060, 160004].includes(Number((answer.body as Json).code)))
    state.wrongs.push(`${method} ${path}: ${JSON.stringify(answer.body)}`);
  if (answer.status < 300 && route.gives) {
    const wrong = Array.isArray(route.gives)
      ? wrongItem(route.gives[0], answer.body as unknown[])
      : wrongWith(route.gives, answer.body);
    if (wrong) state.wrongs.push(`the fake's own answer to ${method} ${path}: ${wrong}`);
  }
  return answer;
}

function withBody(state: State, route: Route, call: Omit<Call, 'params'>): Answer | null {
  if (route.takes === null) return null;
  const [first = ''] = route.takes;
  // The schemas know ids as text, the docs let an upload's attachment id be a number.
  const asText = (value: unknown): unknown =>
    JSON.parse(JSON.stringify(value), (key, v) =>
      key === 'attachments' ? (v as Json[]).map((a) => ({ ...a, id: String(a.id) })) : v,
    );
  const wrong = first.startsWith('[')
    ? wrongItem(first.slice(1, -1), call.body as never)
    : wrongWith(route.takes, asText(call.body));
  if (!wrong) return null;
  state.wrongs.push(wrong);
  return bad(wrong);
}

import { wrongFlags, wrongMessage } from './limits.ts';
import { type Answer, bad, type Call, cdn, gone, no, outward, type Route } from './rest-parts.ts';
import { type Channel, type Message, message, newer, reaction, stored, thread, timeOf } from './shapes.ts';
import { type Json, wrongWith } from './spec.ts';
import type { State } from './state.ts';

/** Routes of channels, threads, messages and reactions. */
export function messageRoutes(state: State, dispatch: (type: string, data: Json) => void): Route[] {
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

  return [
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
  ];
}

/**
 * A pretended Discord on 127.0.0.1: REST, CDN and gateway. Each request of ours and each answer of its own is checked by the schemas of
 * `discord-api-spec`, and by limits that the docs state and the schemas do not. Whatever Discord would refuse, and every unexpected call,
 * stands in `state.wrongs` and fails the test at `close`.
 */
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import type { MessageRef } from '../../../src/platforms/port.ts';
import type { MemberPost, SeenReply } from '../platform-world.ts';
import { startGateway } from './gateway.ts';
import { readable } from './readable.ts';
import { answerCall, restRoutes } from './rest.ts';
import { type Call, cdn, outward } from './rest-parts.ts';
import { type Channel, type Message, member, message, timeOf, type User } from './shapes.ts';
import { type Json, wrongWith } from './spec.ts';
import { type Interaction, newState } from './state.ts';

const page = '<!DOCTYPE html><html><head><title>Log in</title></head><body>Log in to go on</body></html>';

async function bodyOf(request: IncomingMessage): Promise<Pick<Call, 'body' | 'files'>> {
  const chunks: Buffer[] = [];
  for await (const chunk of request) chunks.push(chunk as Buffer);
  const raw = Buffer.concat(chunks);
  const type = request.headers['content-type'] ?? '';
  const files: Call['files'] = new Map();
  if (!type.startsWith('multipart/form-data')) return { body: raw.length > 0 ? JSON.parse(raw.toString()) : {}, files };
  const form = await new Response(raw, { headers: { 'content-type': type } }).formData();
  for (const [field, value] of form as unknown as Iterable<[string, string | File]>) {
    if (typeof value !== 'string')
      files.set(field, { name: value.name, body: Buffer.from(await value.arrayBuffer()), type: value.type });
  }
  return { body: JSON.parse(String(form.get('payload_json') ?? '{}')), files };
}

/** An answer that says nothing more for this long is whole. */
const moreWithinMs = 250;

/** `firstAnswerMs`: time for the first answer to an interaction (3,000 at Discord). */
export async function startFake(firstAnswerMs = 3000) {
  const state = newState(firstAnswerMs);
  const http = createServer((request, response) => {
    serve(request, response).catch((error: unknown) => {
      state.wrongs.push(`the fake failed: ${error instanceof Error ? error.stack : error}`);
      response.destroy();
    });
  });
  await new Promise<void>((resolve) => http.listen(0, '127.0.0.1', resolve));
  const origin = `http://127.0.0.1:${(http.address() as AddressInfo).port}`;
  Object.assign(state, { origin });
  const gateway = startGateway(http, state);
  const routes = restRoutes(state, (t, d) => gateway.dispatch(t, t.startsWith('MESSAGE_') ? { ...d, guild_id: state.guild } : d));

  const serveFile = (url: URL, response: ServerResponse) => {
    const file = state.files.get(url.pathname.split('/')[3] ?? '');
    if (!file || url.searchParams.get('hm') !== String(state.signature))
      return response.writeHead(404).end('This content is no longer available.');
    const type = file.instead === 'page' ? 'text/html; charset=utf-8' : (file.type ?? 'application/octet-stream');
    const body = file.instead === 'half' ? file.body.subarray(0, file.body.length / 2) : file.instead ? page : file.body;
    return response.writeHead(200, { 'content-type': type }).end(body);
  };

  const send = (response: ServerResponse, status: number, body: unknown, headers: Record<string, string> = {}) =>
    response
      .writeHead(status, { ...(body !== undefined && { 'content-type': 'application/json' }), ...headers })
      .end(body === undefined ? undefined : JSON.stringify(body));

  async function serve(request: IncomingMessage, response: ServerResponse) {
    const url = new URL(request.url ?? '/', origin);
    if (url.pathname.startsWith('/attachments/')) return serveFile(url, response);
    const method = request.method ?? '';
    const path = url.pathname.replace(/^\/api\/v10/, '').replaceAll('%40', '@');
    state.calls.push(`${method} ${path}`);
    const { body, files } = await bodyOf(request);
    const sends = method === 'POST' && /^\/channels\/\d+\/messages$/.test(path);
    const fault = sends ? state.faults.shift() : undefined;
    if (fault === 'rate-limited' || fault === 'long-rate-limit') {
      const seconds = fault === 'rate-limited' ? 0.2 : 120;
      const limited = { message: 'You are being rate limited.', code: 0, retry_after: seconds, global: false };
      const wrong = wrongWith('RatelimitedResponse', limited);
      if (wrong) state.wrongs.push(wrong);
      return send(response, 429, limited, { 'retry-after': String(seconds), 'x-ratelimit-scope': 'user' });
    }
    if (fault === 'unavailable') return response.writeHead(502).end('bad gateway');
    if (fault === 'forbidden') return send(response, 403, { code: 50013, message: 'Missing Permissions' });
    if (fault === 'slow') await sleep(300);
    const answer = answerCall(state, routes, method, path, request.headers.authorization, {
      query: url.searchParams,
      body,
      files,
    });
    if (fault === 'answer-lost') return request.socket.destroy();
    return send(response, answer.status, answer.body);
  }

  const attach = (channel: string, post: MemberPost) =>
    post.files.map((file) => {
      const id = state.nextId();
      state.files.set(id, { body: file.body, type: file.contentType, instead: null });
      const url = `${cdn(state)}/attachments/${channel}/${id}/${encodeURIComponent(file.name)}`;
      return { id, filename: file.name, size: file.body.length, url, proxy_url: url, content_type: file.contentType };
    });

  /** What the gateway sends with a message: its server and the author's nickname and roles. */
  const deliver = (t: string, m: Message) => {
    const wrong = wrongWith('MessageResponse', outward(m));
    if (wrong) state.wrongs.push(`the fake's own message: ${wrong}`);
    const { user: _, ...part } = state.members.get(m.author.id) ?? member(m.author, null, []);
    gateway.dispatch(t, { ...outward(m), guild_id: state.guild, ...(m.webhook_id ? {} : { member: part }) });
  };

  const refOf = (m: Message): MessageRef => {
    const place = state.channels.get(m.channel_id);
    const inThread = place?.type === 11;
    return {
      platform: 'discord',
      channel: inThread ? (place.parent_id ?? '') : m.channel_id,
      message: m.id,
      thread: inThread ? m.channel_id : null,
    };
  };

  const say = (channel: string, author: User, post: MemberPost, more: Json = {}): Message => {
    const made = message(state.nextId(), channel, author, post.text, attach(channel, post), more);
    state.messages.set(made.id, made);
    const place = state.channels.get(channel);
    if (place) place.last_message_id = made.id;
    deliver('MESSAGE_CREATE', made);
    return made;
  };

  const interact = (type: number, channel: string, data: Json, carrier?: Message): Promise<SeenReply> =>
    new Promise((resolve, reject) => {
      const id = state.nextId();
      const timer = setTimeout(() => {
        if (it.state !== 'open') return;
        it.state = 'void';
        reject(new Error('This interaction failed'));
      }, state.firstAnswerMs);
      let settled: NodeJS.Timeout | undefined;
      const it = {
        id,
        token: `token-${id}`,
        type,
        withMessage: carrier !== undefined,
        channel,
        state: 'open' as Interaction['state'],
        texts: [] as string[],
        bodies: [] as Json[],
        resolve: (seen: SeenReply) => {
          clearTimeout(timer);
          clearTimeout(settled);
          settled = setTimeout(
            () => resolve(seen.kind === 'private' ? { kind: 'private', text: it.texts.map(readable).join('\n') } : seen),
            moreWithinMs,
          );
        },
      };
      state.interactions.set(id, it);
      const place = state.channels.get(channel)!;
      gateway.dispatch('INTERACTION_CREATE', {
        id,
        application_id: state.app.id,
        type,
        data,
        guild_id: state.guild,
        channel_id: channel,
        token: it.token,
        version: 1,
        channel: { id: channel, type: place.type, name: place.name, parent_id: place.parent_id, permissions: '0' },
        member: { ...state.members.get(state.people.juno.id)!, permissions: '0' },
        locale: 'en-US',
        guild_locale: 'en-US',
        entitlements: [],
        authorizing_integration_owners: { '0': state.guild },
        context: 0,
        app_permissions: '0',
        attachment_size_limit: 10_485_760,
        ...(carrier && { message: outward(carrier) }),
      });
    });

  return {
    state,
    gateway,
    origin,
    rest: { api: `${origin}/api`, cdn: origin },
    /** From now on files and the gateway are at this name, which must lead here; the address of the REST interface is the adapter's own. */
    rename: (name: string) => Object.assign(state, { origin: origin.replace('127.0.0.1', name) }),
    refOf,
    say,
    deliver,
    interact,
    /** The people's side of an existing message. */
    change: (id: string, post: MemberPost) => {
      const old = state.messages.get(id)!;
      old.content = post.text;
      old.attachments = attach(old.channel_id, post);
      old.edited_timestamp = timeOf(state.nextId());
      deliver('MESSAGE_UPDATE', old);
    },
    channel: (id: string): Channel => state.channels.get(id)!,
    /** Nonces are kept for some minutes only (Discord docs, create message); after this they are past. */
    forgetNonces: () => state.nonces.clear(),
    expireAddresses: () => void state.signature++,
    /** Ends the connections for calls that wait for the next one; the gateway's stays. */
    dropCalls: () => http.closeIdleConnections(),
    /** Stops all; throws when something was wrong. */
    close: async () => {
      gateway.close();
      http.closeAllConnections();
      await new Promise((resolve) => http.close(resolve));
      if (state.wrongs.length > 0) throw new Error(`Discord would not have taken this:\n${state.wrongs.join('\n')}`);
    },
  };
}

export type Fake = Awaited<ReturnType<typeof startFake>>;

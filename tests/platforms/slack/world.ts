/**
 * A Slack workspace for the contract suite: emulate's server behind the front, people who post and press, signed deliveries. Over 300 lines, since
 * all of it is one workspace: who posts, presses and delivers again shares its ids, tokens and what was delivered last.
 */
import { createHmac, randomUUID } from 'node:crypto';
import type { Action, ActionReply, Mark, MessageRef, Platform, PlatformEvents } from '../../../src/platforms/port.ts';
import { botScopes, type SlackOptions } from '../../../src/platforms/slack/options.ts';
import { createSlackPlatform } from '../../../src/platforms/slack/slack.ts';
import { freePort } from '../../free-port.ts';
import { type MemberPost, type SeenMessage, type SeenReply, until, type World } from '../platform-world.ts';
import { type Front, openFront, tokens } from './front.ts';
import { controls, offersOf, pingsOfText, readBlocks, textOf } from './reading.ts';

type Json = { [key: string]: unknown };

const signingSecret = '0123456789abcdef0123456789abcdef';
const emoji: Record<Mark, string> = {
  seen: 'eyes',
  fix: 'wrench',
  clean: 'white_check_mark',
  unsure: 'grey_question',
  failed: 'warning',
  done: 'checkered_flag',
};
/** Slack sends an event again when it is not acknowledged in 3 s; the harness fails sooner. */
export const ackWithinMs = 1500;

const silentLog = { debug: () => {}, info: () => {}, warn: () => {}, error: () => {} };

interface Stored {
  ts: string;
  thread_ts?: string;
  user: string;
  text: string;
  bot_id?: string;
  subtype?: string;
  blocks?: Json[];
  files?: Json[];
  metadata?: Json;
  reactions?: { name: string; users: string[] }[];
}

export interface SlackWorld extends World {
  front: Front;
  botUserId: string;
  options: SlackOptions;
  /** Delivers an event as Slack would; returns the HTTP status (200 for an acknowledged envelope). */
  deliverEvent(event: Json, headers?: Record<string, string>): Promise<number>;
  deliverSigned(
    path: string,
    raw: string,
    contentType: string,
    headers?: Record<string, string>,
    secret?: string,
  ): Promise<Response>;
  typeCommand(channel: string, text: string): Promise<SeenReply>;
  stored(ref: { channel: string; message: string; thread: string | null }): Promise<Stored | undefined>;
  eventOf(channel: string, message: Stored): Json;
  uploadAs(token: string, files: MemberPost['files']): Promise<string[]>;
}

export async function openWorld(
  kind: 'http' | 'socket',
  more: Partial<SlackOptions> = {},
  scopes: string[] = [...botScopes],
): Promise<SlackWorld> {
  const front = await openFront(scopes);
  const users = (await front.call('users.list', {})).members as { id: string; name: string }[];
  const userId = (name: string) => users.find((user) => user.name === name)!.id;
  const channels = (await front.call('conversations.list', {})).channels as { id: string; name: string }[];
  const channelId = (name: string) => channels.find((channel) => channel.name === name)!.id;
  const [botUserId, memberId] = [userId('quarterview'), userId('juno')];
  const [channel, coachChannel, otherChannel] = [channelId('form-check'), channelId('coaches'), channelId('lounge')];
  const mention = 'S0COACHES';
  front.groups = [
    { id: mention, users: [userId('admin')] },
    { id: 'S0MEMBERS', users: [memberId] },
  ];
  const port = await freePort();
  const options: SlackOptions = {
    botToken: tokens.bot,
    mode: kind === 'http' ? { kind, signingSecret, port, host: '127.0.0.1' } : { kind, appToken: 'xapp-test' },
    channels: [channel],
    coachChannel,
    moderatorChannel: null,
    emoji,
    apiUrl: `${front.url}/api/`,
    log: silentLog,
    ...more,
  };
  const platforms: Platform[] = [];
  /** The newest message that the member alone sees, as the adapter sent it. */
  let answer: { channel: string; thread: string | null; ts: string; blocks: Json[]; files: string[] } | null = null;
  /** Replies that the bot gave, so that the harness knows when there is nothing to wait for. */
  const given: ActionReply['kind'][] = [];

  function create(): Platform {
    const inner = createSlackPlatform(options);
    platforms.push(inner);
    const start: Platform['start'] = (events, commands, signal) => {
      const watched: PlatformEvents = {
        onMessage: (message) => events.onMessage(message),
        onGap: (name) => events.onGap(name),
        onLine: (name, fault) => events.onLine(name, fault),
        async onAction(action: Action) {
          const reply = await events.onAction(action);
          given.push(reply.kind);
          return reply;
        },
      };
      return inner.start(watched, commands, signal);
    };
    return new Proxy(inner, { get: (target, name) => (name === 'start' ? start : bound(target, name)) });
  }
  const bound = (target: Platform, name: string | symbol) => {
    const value = Reflect.get(target, name, target) as unknown;
    return typeof value === 'function' ? value.bind(target) : value;
  };

  async function deliverSigned(
    path: string,
    raw: string,
    contentType: string,
    headers: Record<string, string> = {},
    secret = signingSecret,
  ) {
    const stamp = String(Math.floor(Date.now() / 1000));
    const signature = `v0=${createHmac('sha256', secret).update(`v0:${stamp}:${raw}`).digest('hex')}`;
    const signal = AbortSignal.timeout(ackWithinMs);
    return fetch(`http://127.0.0.1:${port}${path}`, {
      method: 'POST',
      headers: { 'content-type': contentType, 'x-slack-request-timestamp': stamp, 'x-slack-signature': signature, ...headers },
      body: raw,
      signal,
    });
  }

  async function envelope(type: string, payload: Json, retry: Json = {}): Promise<number> {
    if (front.socket.down) return 0;
    const [socket] = front.socket.open;
    if (socket === undefined) throw new Error('harness: the adapter is not connected');
    const id = randomUUID();
    socket.send(JSON.stringify({ type, envelope_id: id, payload, accepts_response_payload: type !== 'events_api', ...retry }));
    const started = performance.now();
    await until('acknowledgement', () => front.socket.acks.has(id));
    if (performance.now() - started > ackWithinMs) throw new Error('harness: acknowledged too late');
    return 200;
  }

  const delivered: { last: (() => Promise<unknown>) | null } = { last: null };

  async function deliverEvent(event: Json, headers: Record<string, string> = {}): Promise<number> {
    const body = {
      token: 'x',
      team_id: 'T000000001',
      api_app_id: 'A000000001',
      type: 'event_callback',
      event_id: `Ev${randomUUID()}`,
      event_time: Math.floor(Date.now() / 1000),
      event,
    };
    const send = async (extra: Record<string, string>) => {
      if (kind === 'http') return (await deliverSigned('/slack/events', JSON.stringify(body), 'application/json', extra)).status;
      const attempt = extra['x-slack-retry-num'];
      return envelope(
        'events_api',
        body,
        attempt === undefined ? {} : { retry_attempt: Number(attempt), retry_reason: 'timeout' },
      );
    };
    delivered.last = () => send({ 'x-slack-retry-num': '1', 'x-slack-retry-reason': 'http_timeout' });
    return send(headers);
  }

  async function deliverInteraction(payload: Json): Promise<void> {
    const send = async () => {
      if (kind === 'socket') return void (await envelope('interactive', payload));
      const raw = new URLSearchParams({ payload: JSON.stringify(payload) }).toString();
      const response = await deliverSigned('/slack/events', raw, 'application/x-www-form-urlencoded');
      if (response.status !== 200) throw new Error(`harness: the interaction was answered with ${response.status}`);
    };
    delivered.last = send;
    await send();
  }

  async function allOf(place: string): Promise<Stored[]> {
    const roots = (await front.call('conversations.history', { channel: place, limit: 999 })).messages as Stored[];
    const threads = await Promise.all(
      roots.map(
        async (root) => (await front.call('conversations.replies', { channel: place, ts: root.ts })).messages as Stored[],
      ),
    );
    const all = new Map([...roots, ...threads.flat()].map((message) => [message.ts, message]));
    return [...all.values()].sort((a, b) => Number(a.ts) - Number(b.ts));
  }

  const stored = async (ref: { channel: string; message: string }) =>
    (await allOf(ref.channel)).find((one) => one.ts === ref.message);
  const eventOf = (place: string, message: Stored): Json => ({
    ...message,
    type: 'message',
    channel: place,
    event_ts: message.ts,
    channel_type: 'channel',
  });
  const refFor = (place: string, message: Stored): MessageRef => ({
    platform: 'slack',
    channel: place,
    message: message.ts,
    thread: message.thread_ts && message.thread_ts !== message.ts ? message.thread_ts : null,
  });
  const escaped = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

  async function uploadAs(token: string, files: MemberPost['files']): Promise<string[]> {
    const ids: string[] = [];
    for (const file of files) {
      const place = await front.call('files.getUploadURLExternal', { filename: file.name, length: file.body.length }, token);
      await fetch(String(place.upload_url), { method: 'POST', body: new Uint8Array(file.body) });
      ids.push(String(place.file_id));
    }
    return ids;
  }

  async function store(post: MemberPost): Promise<Stored> {
    const place = post.channel ?? channel;
    const thread = post.reply === undefined ? {} : { thread_ts: post.reply.thread ?? post.reply.message };
    const token = post.byBot ? tokens.otherBot : tokens.member;
    if (post.files.length === 0) {
      const sent = await front.call('chat.postMessage', { channel: place, text: escaped(post.text), ...thread }, token);
      return sent.message as Stored;
    }
    const ids = await uploadAs(token, post.files);
    const files = ids.map((id) => ({ id }));
    await front.call(
      'files.completeUploadExternal',
      { files, channel_id: place, initial_comment: escaped(post.text), ...thread },
      token,
    );
    const all = await allOf(place);
    return all.find((message) => message.files?.some((file) => file.id === ids[0]))!;
  }

  /** Waits for what the presser is shown after `act`, or for the bot's word that there is nothing. */
  async function shownAfter(channelId: string, act: () => Promise<void>): Promise<SeenReply> {
    const [calls, responses, replies] = [front.calls.length, front.responses.length, given.length];
    await act();
    return until('an answer to the action', () => {
      const fresh = front.calls.slice(calls);
      const view = fresh.find((call) => call.method === 'views.open' && call.answer.ok === true)?.body.view as Json | undefined;
      if (view !== undefined) {
        const fields = (view.blocks as Json[]).map((block) => ({
          id: String(block.block_id),
          label: textOf(block.label),
          required: block.optional !== true,
        }));
        const wanted = { kind: 'form' as const, id: String(view.callback_id), title: textOf(view.title), fields };
        return wanted;
      }
      const body =
        front.responses[responses] ?? fresh.find((call) => call.method === 'chat.postEphemeral' && call.answer.ok === true)?.body;
      if (body !== undefined) {
        if (body.response_type !== undefined && body.response_type !== 'ephemeral')
          throw new Error('harness: shown to everybody');
        if (body.user !== undefined && body.user !== memberId) throw new Error('harness: shown to somebody else');
        answer = {
          channel: String(body.channel ?? channelId),
          thread: typeof body.thread_ts === 'string' ? body.thread_ts : null,
          ts: `${Date.now() / 1000}`,
          blocks: body.blocks as Json[],
          // Slack takes no files in such a message: they come before it as a direct one.
          files: fresh.filter(({ method }) => method === 'files.getUploadURLExternal').map((call) => String(call.body.filename)),
        };
        return { kind: 'private' as const, text: readBlocks(body.blocks as Json[], new Set()) };
      }
      return given.slice(replies).includes('nothing') ? { kind: 'nothing' as const } : null;
    });
  }

  const trigger = async () => String((await front.call('views.generateTriggerId', { user_id: memberId }, tokens.bot)).trigger_id);
  const user = { id: memberId, username: 'juno', name: 'juno', team_id: 'T000000001' };

  /** `carried`: what says in which message the element stands; `blocks`: of that message. */
  async function pressIn(channelId: string, blocks: Json[], carried: Json, id: string, value: string | null): Promise<SeenReply> {
    const element = controls(blocks).find((one) => one.action_id === id);
    if (element === undefined) throw new Error(`harness: no element ${id}`);
    const action_ts = `${Date.now() / 1000}${Math.random().toString().slice(2, 6)}`;
    const option = (element.options as Json[] | undefined)?.find((one) => one.value === value);
    if (value !== null && option === undefined) throw new Error(`harness: no option ${value}`);
    return shownAfter(channelId, async () =>
      deliverInteraction({
        type: 'block_actions',
        team: { id: 'T000000001', domain: 'millrace' },
        user,
        api_app_id: 'A000000001',
        token: 'x',
        trigger_id: await trigger(),
        channel: { id: channelId, name: 'x' },
        ...carried,
        response_url: `${front.url}/response/action`,
        actions: [{ ...element, block_id: 'b', action_ts, ...(option === undefined ? {} : { selected_option: option }) }],
      }),
    );
  }

  async function pressElement(where: MessageRef, id: string, value: string | null): Promise<SeenReply> {
    const message = await stored(where);
    const container = {
      type: 'message',
      message_ts: where.message,
      channel_id: where.channel,
      is_ephemeral: false,
      ...(where.thread ? { thread_ts: where.thread } : {}),
    };
    return pressIn(where.channel, message?.blocks ?? [], { container, message: { ...message, type: 'message' } }, id, value);
  }

  /** Of a message that one person alone sees Slack tells the place and nothing else (a payload in slackapi/java-slack-sdk, issue 1200). */
  async function pressInAnswer(id: string, value: string | null): Promise<SeenReply> {
    if (answer === null) throw new Error('harness: nothing was answered');
    const { channel: channelId, thread, ts, blocks } = answer;
    const threaded = thread === null ? {} : { thread_ts: thread };
    const container = { type: 'message', message_ts: ts, channel_id: channelId, is_ephemeral: true, ...threaded };
    return pressIn(channelId, blocks, { container }, id, value);
  }

  async function typeCommand(place: string, text: string): Promise<SeenReply> {
    const body = {
      token: 'x',
      team_id: 'T000000001',
      team_domain: 'millrace',
      channel_id: place,
      channel_name: 'x',
      user_id: memberId,
      user_name: 'juno',
      command: '/quarterview',
      text,
      api_app_id: 'A000000001',
      response_url: `${front.url}/response/command`,
      trigger_id: await trigger(),
    };
    return shownAfter(place, async () => {
      const send = async () => {
        if (kind === 'socket') return void (await envelope('slash_commands', body));
        const response = await deliverSigned(
          '/slack/events',
          new URLSearchParams(body).toString(),
          'application/x-www-form-urlencoded',
        );
        if (response.status !== 200) throw new Error(`harness: the command was answered with ${response.status}`);
      };
      delivered.last = send;
      await send();
    });
  }

  const world: SlackWorld = {
    front,
    botUserId,
    options,
    platform: create(),
    again: async () => create(),
    channel,
    coachChannel,
    otherChannel,
    mention,
    member: { id: memberId, name: 'Juno', groups: ['S0MEMBERS'] },
    deliverEvent,
    deliverSigned,
    typeCommand,
    stored,
    eventOf,
    uploadAs,

    async postMember(post) {
      const message = await store(post);
      const place = post.channel ?? channel;
      const bot = post.byBot ? { bot_id: 'B0PLATES', subtype: 'bot_message' } : {};
      await deliverEvent({ ...eventOf(place, message), ...bot });
      return refFor(place, message);
    },

    async editMember(ref, post) {
      const before = await stored(ref);
      await front.call('chat.update', { channel: ref.channel, ts: ref.message, text: escaped(post.text) }, tokens.member);
      const ids = await uploadAs(tokens.member, post.files);
      const files: Json[] = [];
      if (ids.length > 0) {
        // emulate adds no file to a message that exists: the upload is shared next door, and the event names it.
        await front.call(
          'files.completeUploadExternal',
          { files: ids.map((id) => ({ id })), channel_id: otherChannel },
          tokens.member,
        );
        for (const id of ids) files.push((await front.call('files.info', { file: id })).file as Json);
      }
      const stamp = `${Math.floor(Date.now() / 1000)}.999999`;
      const message = { ...(await stored(ref)), ...(files.length > 0 ? { files } : {}), type: 'message' };
      await deliverEvent({
        type: 'message',
        subtype: 'message_changed',
        hidden: true,
        channel: ref.channel,
        ts: stamp,
        event_ts: stamp,
        message,
        previous_message: { ...before, type: 'message' },
        channel_type: 'channel',
      });
    },

    async redeliver() {
      await delivered.last?.();
    },

    press: (where, id) => pressElement(where, id, null),
    choose: (where, id, value) => pressElement(where, id, value),

    answer: {
      offers: () => ({ ...offersOf(answer?.blocks ?? []), files: answer?.files ?? [] }),
      press: (id) => pressInAnswer(id, null),
      choose: (id, value) => pressInAnswer(id, value),
    },

    async submit(formId, values) {
      const opened = front.calls.findLast(
        (call) => call.method === 'views.open' && (call.body.view as Json).callback_id === formId,
      );
      if (opened === undefined) throw new Error(`harness: no form ${formId} is open`);
      const view = opened.answer.view as Json;
      const state = Object.fromEntries(
        (view.blocks as Json[]).map((block) => {
          const element = block.element as Json;
          const value = values[String(block.block_id)];
          const option = (element.options as Json[] | undefined)?.find((one) => one.value === value) ?? null;
          const filled =
            element.type === 'static_select'
              ? { type: element.type, selected_option: option }
              : { type: element.type, value: value ?? null };
          return [block.block_id, { [String(element.action_id)]: filled }];
        }),
      );
      return shownAfter(channel, async () =>
        deliverInteraction({
          type: 'view_submission',
          team: { id: 'T000000001', domain: 'millrace' },
          user,
          api_app_id: 'A000000001',
          token: 'x',
          trigger_id: await trigger(),
          view: { ...view, state: { values: state } },
          response_urls: [],
        }),
      );
    },

    command: (place, name, values) => typeCommand(place, [name, ...Object.values(values)].join(' ')),

    async seen(place) {
      const ours = (await allOf(place)).filter((message) => message.user === botUserId);
      return Promise.all(
        ours.map(async (message): Promise<SeenMessage> => {
          const pings = new Set<string>();
          const blocks = message.blocks ?? [];
          const text = readBlocks(blocks, pings);
          pingsOfText(message.text, pings);
          const files = await Promise.all(
            (message.files ?? []).map(async (file) => {
              const body = await fetch(String(file.url_private_download), {
                headers: { authorization: `Bearer ${tokens.admin}` },
              });
              return {
                name: String(file.name),
                alt: (file.alt_txt as string | undefined) ?? null,
                body: Buffer.from(await body.arrayBuffer()),
              };
            }),
          );
          return {
            ref: refFor(place, message),
            text,
            files,
            ...offersOf(blocks),
            pings: [...pings],
          };
        }),
      );
    },

    async marks(ref) {
      const answer = await front.call('reactions.get', { channel: ref.channel, timestamp: ref.message });
      const names =
        (answer.message as Stored).reactions?.filter((one) => one.users.includes(botUserId)).map((one) => one.name) ?? [];
      return (Object.keys(emoji) as Mark[]).filter((mark) => names.includes(emoji[mark]));
    },

    async loginPage(ref) {
      for (const file of (await stored(ref))?.files ?? []) front.pages.add(String(file.id));
    },

    async deleteMember(ref) {
      const files = (await stored(ref))?.files ?? [];
      await front.call('chat.delete', { channel: ref.channel, ts: ref.message }, tokens.member);
      for (const file of files) await front.call('files.delete', { file: file.id }, tokens.member);
    },

    async gap(meanwhile) {
      front.socket.down = true;
      for (const open of front.socket.open) open.terminate();
      await until('the line is cut', () => front.socket.open.length === 0);
      await meanwhile();
      front.socket.down = false;
    },

    async fault(what) {
      front.nextFault = what;
    },

    async close() {
      await Promise.all(platforms.map((platform) => platform.stop()));
      await front.close();
      if (front.faults.length > 0) throw new Error(`Slack would refuse:\n${front.faults.join('\n')}`);
    },
  };
  return world;
}

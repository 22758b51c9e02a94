/** A Slack workspace for the contract suite: emulate's server behind the front, people who post and press, signed deliveries. */
import type { Action, ActionReply, Mark, Platform, PlatformEvents } from '../../../src/platforms/port.ts';
import { botScopes, type SlackOptions } from '../../../src/platforms/slack/options.ts';
import { createSlackPlatform } from '../../../src/platforms/slack/slack.ts';
import { freePort } from '../../free-port.ts';
import { type MemberPost, type SeenMessage, type SeenReply, until, type World } from '../platform-world.ts';
import { openDelivery, signingSecret } from './delivery.ts';
import { type Front, openFront, tokens } from './front.ts';
import { escaped, eventOf, openPosts, refFor, type Stored } from './posts.ts';
import { openPresses } from './presses.ts';
import { offersOf, pingsOfText, readBlocks } from './reading.ts';

type Json = { [key: string]: unknown };

const emoji: Record<Mark, string> = {
  seen: 'eyes',
  fix: 'wrench',
  clean: 'white_check_mark',
  unsure: 'grey_question',
  failed: 'warning',
  done: 'checkered_flag',
};
const silentLog = { debug: () => {}, info: () => {}, warn: () => {}, error: () => {} };

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

  const delivery = openDelivery(front, kind, port);
  const posts = openPosts(front, channel);
  const presses = openPresses({ front, delivery, posts, memberId, channel, given });
  const { deliverEvent, deliverSigned } = delivery;
  const { allOf, stored, uploadAs, store } = posts;
  const { pressElement, pressInAnswer, typeCommand } = presses;

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

    redeliver: delivery.again,

    press: (where, id) => pressElement(where, id, null),
    choose: (where, id, value) => pressElement(where, id, value),

    answer: {
      offers: presses.answerOffers,
      press: (id) => pressInAnswer(id, null),
      choose: (id, value) => pressInAnswer(id, value),
    },

    submit: presses.submit,

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

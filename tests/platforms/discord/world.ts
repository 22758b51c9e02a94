import { discordPlatform } from '../../../src/platforms/discord/discord.ts';
import type { DiscordOptions } from '../../../src/platforms/discord/options.ts';
import type { Mark, MessageRef, Platform } from '../../../src/platforms/port.ts';
import type { MemberPost, SeenMessage, World } from '../platform-world.ts';
import { type Fake, startFake } from './fake.ts';
import { readable } from './readable.ts';
import type { Message } from './shapes.ts';
import type { Json } from './spec.ts';

const emoji: Record<Mark, string> = { seen: '👀', fix: '🔁', clean: '✅', unsure: '🤔', failed: '⚠️', done: 'plates:4242' };

const silent = () => {};
const silentLog = { info: silent, warn: silent, error: silent };

export const optionsFor = (fake: Fake, more: Partial<DiscordOptions> = {}): DiscordOptions => ({
  token: fake.state.token,
  channels: ['801'],
  coachChannel: '802',
  moderatorChannel: null,
  emoji,
  rest: fake.rest,
  log: silentLog,
  deferAfterMs: 150,
  identifyPace: { burst: 5, everyMs: 10 },
  ...more,
});

/** Whom a message would notify, by its content and its allowed mentions (Discord docs, allowed mentions object). */
function pingsOf(m: Message): string[] {
  const allowed = (m.allowed ?? { parse: ['everyone', 'roles', 'users'] }) as {
    parse?: string[];
    roles?: string[];
    users?: string[];
  };
  const parse = allowed.parse ?? [];
  const inText = (pattern: RegExp) => [...m.content.matchAll(pattern)].map((hit) => hit[1] ?? 'everyone');
  return [
    ...(parse.includes('everyone') ? inText(/@(?:everyone|here)/g) : []),
    ...inText(/<@&(\d+)>/g).filter((id) => parse.includes('roles') || allowed.roles?.includes(id)),
    ...inText(/<@!?(\d+)>/g).filter((id) => parse.includes('users') || allowed.users?.includes(id)),
  ];
}

/** Buttons (type 2) and choices (type 3) of a message. */
function offersOf({ components }: Pick<Message, 'components'>): Pick<SeenMessage, 'buttons' | 'choices'> {
  const parts = components.flatMap((row) => row.components as Json[]);
  return {
    buttons: parts.filter((p) => p.type === 2).map((p) => ({ id: String(p.custom_id), label: String(p.label) })),
    choices: parts
      .filter((p) => p.type === 3)
      .map((p) => ({ id: String(p.custom_id), values: (p.options as { value: string }[]).map((o) => o.value) })),
  };
}

function seenMessage(fake: Fake, m: Message): SeenMessage {
  const pings = pingsOf(m);
  const bare = pings.reduce((text, id) => text.replace(`<@&${id}> `, ''), m.content);
  return {
    ref: fake.refOf(m),
    text: readable(bare.replace(/[\u2060-\u2063]/g, '')),
    files: m.attachments.map((a) => ({ name: a.filename, alt: a.description ?? null, body: fake.state.files.get(a.id)!.body })),
    ...offersOf(m),
    pings,
  };
}

/** Fields of the forms that tests send which are lists to choose from. */
const isChoice = (formId: string, id: string) =>
  ['view', 'lift', 'clips', 'severity', 'option', 'how'].includes(id) || (id === 'reason' && formId.startsWith('unusable:'));

/** A world for the contract suite over one fake. */
export async function discordWorld(firstAnswerMs = 3000): Promise<World & { fake: Fake }> {
  const fake = await startFake(firstAnswerMs);
  const adapters: Platform[] = [];
  const make = () => {
    const made = discordPlatform(optionsFor(fake));
    adapters.push(made);
    return made;
  };
  const { state } = fake;
  let lastForm: Message | undefined;
  const press = async (where: MessageRef, data: Json) => {
    lastForm = state.messages.get(where.message);
    return fake.interact(3, where.thread ?? where.channel, data, lastForm);
  };
  const inAnswer = async (data: Json) => {
    const shown = state.answer;
    const { buttons, choices } = offersOf(shown ?? { components: [] });
    if (shown === null || ![...buttons, ...choices].some(({ id }) => id === data.custom_id))
      throw new Error(`no ${data.custom_id} in the answer`);
    lastForm = shown;
    return fake.interact(3, shown.channel_id, data, shown);
  };
  const say = async (post: MemberPost): Promise<MessageRef> => {
    const author = post.byBot ? state.people.machine : state.people.juno;
    return fake.refOf(fake.say(post.reply ? (post.reply.thread ?? post.reply.message) : (post.channel ?? '801'), author, post));
  };
  const shownIn = (channel: string) => (m: Message) =>
    m.author.id === state.bot.id && m.type === 0 && fake.refOf(m).channel === channel;
  return {
    fake,
    platform: make(),
    again: async () => make(),
    channel: '801',
    coachChannel: '802',
    otherChannel: '803',
    mention: '602',
    member: { id: '101', name: 'Juno from Millrace', groups: ['603'] },
    postMember: say,
    editMember: async (ref, post) => fake.change(ref.message, post),
    redeliver: async () => fake.gateway.repeat(['MESSAGE_CREATE', 'MESSAGE_UPDATE', 'INTERACTION_CREATE']),
    press: (where, id) => press(where, { component_type: 2, custom_id: id, id: 2 }),
    choose: (where, id, value) => press(where, { component_type: 3, custom_id: id, id: 2, values: [value] }),
    answer: {
      offers: () => ({
        ...offersOf(state.answer ?? { components: [] }),
        files: (state.answer?.attachments ?? []).map(({ filename }) => filename),
      }),
      press: (id) => inAnswer({ component_type: 2, custom_id: id, id: 2 }),
      choose: (id, value) => inAnswer({ component_type: 3, custom_id: id, id: 2, values: [value] }),
    },
    submit: (formId, values) => {
      const components = Object.entries(values).map(([id, value], i) => ({
        type: 18,
        id: 2 * i + 1,
        component: isChoice(formId, id)
          ? { type: 3, id: 2 * i + 2, custom_id: id, values: [value] }
          : { type: 4, id: 2 * i + 2, custom_id: id, value },
      }));
      return fake.interact(5, lastForm?.channel_id ?? '801', { custom_id: formId, components }, lastForm);
    },
    command: (channel, name, values) => {
      lastForm = undefined;
      const options = Object.entries(values).map(([key, value]) => ({ type: 3, name: key, value }));
      return fake.interact(2, channel, { id: '1', name, type: 1, options });
    },
    seen: async (channel) => [...state.messages.values()].filter(shownIn(channel)).map((m) => seenMessage(fake, m)),
    marks: async (ref) => {
      const ours = (state.messages.get(ref.message)?.reactions ?? [])
        .filter((r) => r.me)
        .map((r) => (r.emoji.id ? `${r.emoji.name}:${r.emoji.id}` : r.emoji.name));
      return (Object.keys(emoji) as Mark[]).filter((mark) => ours.includes(emoji[mark]));
    },
    loginPage: async (ref) => {
      for (const { id } of state.messages.get(ref.message)?.attachments ?? []) state.files.get(id)!.instead = 'page';
    },
    deleteMember: async (ref) => void state.messages.delete(ref.message),
    gap: async (meanwhile) => {
      fake.gateway.drop(4000, true);
      await meanwhile();
    },
    fault: async (kind) => void state.faults.push(kind),
    close: async () => {
      await Promise.all(adapters.map((adapter) => adapter.stop()));
      await fake.close();
    },
  };
}

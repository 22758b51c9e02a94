/** The REST half of the pretended Discord: every request and answer is checked by the official schemas, and by what they do not say. */

import { interactionRoutes } from './interaction-routes.ts';
import { wrongCommands } from './limits.ts';
import { messageRoutes } from './message-routes.ts';
import { type Answer, bad, type Call, cdn, no, type Route } from './rest-parts.ts';
import { type Json, wrongItem, wrongWith } from './spec.ts';
import type { State } from './state.ts';

/** All addresses. */
export function restRoutes(state: State, dispatch: (type: string, data: Json) => void): Route[] {
  return [...generalRoutes(state), ...messageRoutes(state, dispatch), ...interactionRoutes(state)];
}

function generalRoutes(state: State): Route[] {
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
  ];
}

const gatewayBot = (state: State) => ({
  url: `${cdn(state).replace('http', 'ws')}/gateway`,
  shards: 1,
  session_start_limit: { total: 1000, remaining: state.sessionsLeft, reset_after: 3_600_000, max_concurrency: 1 },
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

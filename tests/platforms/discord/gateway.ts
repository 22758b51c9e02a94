/** The gateway half: hello, identify, resume with replay, heartbeats; and the ways in which connections end. */
import type { Server } from 'node:http';
import { type WebSocket, WebSocketServer } from 'ws';
import { cdn } from './rest-parts.ts';
import type { Json } from './spec.ts';
import type { State } from './state.ts';

interface Session {
  id: string;
  intents: number;
  sent: { t: string; s: number; d: Json }[];
  socket: WebSocket | null;
}

const intent = { guilds: 1 << 0, guildMessages: 1 << 9, messageContent: 1 << 15 };
const contentFlags = (1 << 18) | (1 << 19);

export function startGateway(http: Server, state: State) {
  const server = new WebSocketServer({ noServer: true });
  const sessions = new Map<string, Session>();
  const record = { identifies: 0, resumes: 0, opened: 0 };
  let refusing = false;

  http.on('upgrade', (request, socket, head) => {
    if (refusing || !request.url?.startsWith('/gateway')) {
      socket.destroy();
      return;
    }
    server.handleUpgrade(request, socket, head, (ws) => server.emit('connection', ws));
  });

  const send = (socket: WebSocket, payload: Json) => socket.readyState === socket.OPEN && socket.send(JSON.stringify(payload));
  const push = (session: Session, t: string, d: Json) => {
    const event = { t, s: session.sent.length + 1, d };
    session.sent.push(event);
    if (session.socket) send(session.socket, { op: 0, ...event });
  };
  /** Without the message content intent text and files arrive empty (Discord docs, message content intent). */
  const heardBy = (session: Session, t: string, d: Json): Json | null => {
    if (!t.startsWith('MESSAGE_')) return d;
    if (!(session.intents & intent.guildMessages)) return null;
    return session.intents & intent.messageContent ? d : { ...d, content: '', attachments: [], embeds: [], components: [] };
  };

  const identify = (socket: WebSocket, d: Json): Session | null => {
    record.identifies++;
    state.sessionsLeft--;
    const intents = Number(d.intents);
    if (d.token !== state.token) {
      socket.close(4004, 'Authentication failed.');
      return null;
    }
    if (intents & intent.messageContent && !(state.app.flags & contentFlags)) {
      socket.close(4014, 'Disallowed intent(s).');
      return null;
    }
    const session: Session = { id: `session-${record.identifies}`, intents, sent: [], socket };
    sessions.set(session.id, session);
    push(session, 'READY', {
      v: 10,
      user: state.bot,
      guilds: [{ id: state.guild, unavailable: true }],
      session_id: session.id,
      resume_gateway_url: `${cdn(state).replace('http', 'ws')}/gateway`,
      shard: [0, 1],
      application: { id: state.app.id, flags: state.app.flags },
    });
    const channels = [...state.channels.values()];
    push(session, 'GUILD_CREATE', {
      id: state.guild,
      name: 'Millrace Barbell',
      unavailable: false,
      owner_id: '55',
      roles: state.roles,
      emojis: [],
      features: [],
      member_count: 4,
      members: [state.members.get(state.bot.id)!],
      channels: channels.filter((c) => c.type !== 11),
      threads: channels.filter((c) => c.type === 11),
      voice_states: [],
      presences: [],
      stage_instances: [],
      guild_scheduled_events: [],
      stickers: [],
      joined_at: '2025-01-05T10:00:00.000Z',
    });
    return session;
  };

  const resume = (socket: WebSocket, d: Json): Session | null => {
    record.resumes++;
    const session = sessions.get(String(d.session_id));
    if (!session || d.token !== state.token) {
      send(socket, { op: 9, d: false });
      return null;
    }
    session.socket = socket;
    for (const event of session.sent.filter((e) => e.s > Number(d.seq))) send(socket, { op: 0, ...event });
    push(session, 'RESUMED', {});
    return session;
  };

  server.on('connection', (socket: WebSocket) => {
    record.opened++;
    let session: Session | null = null;
    send(socket, { op: 10, d: { heartbeat_interval: 45_000 } });
    socket.on('close', () => {
      if (session?.socket === socket) session.socket = null;
    });
    socket.on('message', (raw) => {
      const { op, d } = JSON.parse(String(raw)) as { op: number; d: Json };
      if (op === 1) send(socket, { op: 11 });
      else if (op === 2) session = identify(socket, d);
      else if (op === 6) session = resume(socket, d);
      else state.wrongs.push(`gateway: unexpected opcode ${op}`);
    });
  });

  return {
    record,
    sessions,
    dispatch: (t: string, d: Json) => {
      for (const session of sessions.values()) {
        const heard = heardBy(session, t, d);
        if (heard) push(session, t, heard);
      }
    },
    /** Sends the last event of this kind once more to each session. */
    repeat: (kinds: string[]) => {
      for (const session of sessions.values()) {
        const last = session.sent.findLast((event) => kinds.includes(event.t));
        if (last) push(session, last.t, last.d);
      }
    },
    /** Ends every connection with a close code; `forget` also makes the sessions unknown, so that what follows is lost. */
    drop: (code: number, forget: boolean) => {
      for (const session of sessions.values()) session.socket?.close(code);
      if (forget) sessions.clear();
    },
    /** Sends a bare opcode: 7 reconnect, 9 invalid session. */
    tell: (op: 7 | 9) => {
      for (const session of sessions.values()) if (session.socket) send(session.socket, { op, d: op === 9 ? false : null });
      if (op === 9) sessions.clear();
    },
    refuse: (on: boolean) => {
      refusing = on;
    },
    close: () => {
      for (const socket of server.clients) socket.terminate();
      server.close();
    },
  };
}

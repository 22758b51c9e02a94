/** How Slack brings things to the adapter: signed requests or envelopes on its socket, and the same again. */
import { createHmac, randomUUID } from 'node:crypto';
import { until } from '../platform-world.ts';
import type { Front } from './front.ts';

type Json = { [key: string]: unknown };

export const signingSecret = '0123456789abcdef0123456789abcdef';
/** Slack sends an event again when it is not acknowledged in 3 s; the harness fails sooner. */
export const ackWithinMs = 1500;

/** Deliveries to an adapter that listens on `port` or on the front's socket. */
export function openDelivery(front: Front, kind: 'http' | 'socket', port: number) {
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

  /** What comes by a form when there is no socket: an interaction or a command. `name` stands in what the harness says. */
  async function deliverForm(type: string, name: string, payload: Json, form: Record<string, string>): Promise<void> {
    const send = async () => {
      if (kind === 'socket') return void (await envelope(type, payload));
      const raw = new URLSearchParams(form).toString();
      const response = await deliverSigned('/slack/events', raw, 'application/x-www-form-urlencoded');
      if (response.status !== 200) throw new Error(`harness: the ${name} was answered with ${response.status}`);
    };
    delivered.last = send;
    await send();
  }

  return {
    deliverSigned,
    /** Delivers an event as Slack would; returns the HTTP status (200 for an acknowledged envelope). */
    deliverEvent,
    deliverInteraction: (payload: Json) =>
      deliverForm('interactive', 'interaction', payload, { payload: JSON.stringify(payload) }),
    deliverCommand: (body: Record<string, string>) => deliverForm('slash_commands', 'command', body, body),
    /** Delivers the last thing once more. */
    again: async () => void (await delivered.last?.()),
  };
}

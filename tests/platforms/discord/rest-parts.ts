import type { Message } from './shapes.ts';
import type { Json } from './spec.ts';
import type { State } from './state.ts';

/** A request as a route reads it. */
export interface Call {
  params: string[];
  query: URLSearchParams;
  body: Json;
  files: Map<string, { name: string; body: Buffer; type: string }>;
}

/** What a route answers. */
export interface Answer {
  status: number;
  body?: unknown;
}

/** One address of the pretended Discord. */
export interface Route {
  method: string;
  path: RegExp;
  /** Names of request schemas, null for no body. */
  takes: string[] | null;
  /** Schema of a 200 answer; `[name]` for a list of them. */
  gives: string | [string] | null;
  open?: true;
  handle: (call: Call) => Answer;
}

/** A refusal in Discord's form. */
export const no = (status: number, code: number, text: string): Answer => ({ status, body: { code, message: text } });
/** The message is not there. */
export const gone = () => no(404, 10008, 'Unknown Message');
/** The body is not as it should be. */
export const bad = (text: string) => no(400, 50035, `Invalid Form Body: ${text}`);

/** A stored message as sent out: without the fake's own notes. */
export function outward(m: Message): Message {
  const { allowed: _, ...rest } = m;
  return rest as Message;
}

/** Address of the fake. */
export const cdn = (state: State) => (state as State & { origin?: string }).origin ?? '';

import { randomBytes } from 'node:crypto';
import type { Form, MessageRef, OutgoingMessage, Person } from '../port.ts';
import type { StoredFile } from './store.ts';

/** A form that the bot opened for this session and that was not sent yet. */
export interface OpenForm {
  form: Form;
  where: MessageRef | null;
  channel: string;
}

/** One tab of a browser that chose to be a person. Lives in memory: after a restart the page enters again by itself. */
export interface Session {
  token: string;
  person: Person;
  /** By the number under which the page knows them. */
  forms: Map<string, OpenForm>;
  /** Private answers, whose buttons only this session may press. */
  privates: Map<string, { message: OutgoingMessage; channel: string }>;
  /** Files uploaded and not posted yet. */
  uploads: Map<string, StoredFile>;
}

/** Most sessions kept; the longest unused goes first. A local room has a few tabs. Chosen. */
const maxSessions = 200;

/** Most open forms, private answers and unposted uploads of one session; the oldest go first. Chosen. */
export const maxHeld = 30;

/** Who is who: a session's token is sent in a header with every request, so it is also the proof that our page sent it. */
export class Sessions {
  readonly #byToken = new Map<string, Session>();
  /** Told when a session is given up, so that its unposted files can go. */
  readonly #onDrop: (session: Session) => void;

  constructor(onDrop: (session: Session) => void) {
    this.#onDrop = onDrop;
  }

  enter(person: Person): Session {
    const token = randomBytes(24).toString('base64url');
    const session: Session = { token, person, forms: new Map(), privates: new Map(), uploads: new Map() };
    this.#byToken.set(token, session);
    for (const [old, gone] of this.#byToken) {
      if (this.#byToken.size <= maxSessions) break;
      this.#byToken.delete(old);
      this.#onDrop(gone);
    }
    return session;
  }

  find(token: string | undefined): Session | null {
    const session = token === undefined ? undefined : this.#byToken.get(token);
    if (session === undefined) return null;
    this.#byToken.delete(session.token);
    this.#byToken.set(session.token, session);
    return session;
  }
}

/** Holds `value` under a fresh key; returns the key and what had to go for it. */
export function hold<T>(map: Map<string, T>, value: T): { key: string; dropped: T[] } {
  const key = randomBytes(12).toString('base64url');
  map.set(key, value);
  const dropped: T[] = [];
  for (const [old, gone] of map) {
    if (map.size <= maxHeld) break;
    map.delete(old);
    dropped.push(gone);
  }
  return { key, dropped };
}

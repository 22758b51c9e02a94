import {
  appendFileSync,
  closeSync,
  fstatSync,
  ftruncateSync,
  mkdirSync,
  openSync,
  readSync,
  renameSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import type { Button, Choice, Mark, Person } from '../port.ts';

/** A file of a message; its bytes lie under `files/<id>`. */
export interface StoredFile {
  id: string;
  name: string;
  contentType: string | null;
  bytes: number;
  alt: string | null;
}

/** One message as the room keeps it. `id` grows with time; `rev` is the store's count at its last change. */
export interface StoredMessage {
  id: string;
  rev: number;
  channel: string;
  /** Id of the message that opened the thread, null at channel level. */
  thread: string | null;
  author: Person;
  text: string;
  files: StoredFile[];
  buttons: Button[];
  choices: Choice[];
  mention: string | null;
  marks: Mark[];
  /** Under which it was posted: once only. */
  key: string | null;
  sentAtMs: number;
  edited: boolean;
  /** A removed message keeps its place and key, nothing else. */
  removed: boolean;
}

/** A person who made a name of their own; `word` is the hash of their own word, null where the room asks for none. */
interface StoredPerson {
  person: Person;
  word: string | null;
}

type Line = { seq: number } | { seq: number; message: StoredMessage } | ({ seq: number } & StoredPerson);
type NewMessage = Pick<StoredMessage, 'channel' | 'thread' | 'author' | 'text' | 'files' | 'key' | 'sentAtMs'> &
  Partial<Pick<StoredMessage, 'buttons' | 'choices' | 'mention'>>;

/**
 * The room's messages, marks and people: a journal of JSON lines, the last line of an id counts. Every change is one appended line, so
 * that a killed process leaves at most one torn line, which is cut off when the journal is opened. A second store on the same folder (as after a crash)
 * sees the changes of the first: each call reads what was appended since.
 */
export class RoomStore {
  readonly filesFolder: string;
  readonly #path: string;
  #fd: number;
  #inode = 0;
  #read = 0;
  #lines = 0;
  #seq = 0;
  #damaged = 0;
  readonly #messages = new Map<string, StoredMessage>();
  readonly #people = new Map<string, StoredPerson>();
  readonly #keys = new Map<string, string>();
  /** Message by the id of a file it held at some time. */
  readonly #holders = new Map<string, string>();
  readonly #watchers = new Set<(message: StoredMessage) => void>();

  /** Opens or creates the store in `folder`; throws when the folder cannot be written. */
  constructor(folder: string) {
    this.filesFolder = join(folder, 'files');
    mkdirSync(this.filesFolder, { recursive: true, mode: 0o700 });
    this.#path = join(folder, 'room.jsonl');
    this.#fd = openSync(this.#path, 'a+', 0o600);
    this.refresh();
    const size = fstatSync(this.#fd).size;
    if (size > this.#read) ftruncateSync(this.#fd, this.#read);
    if (this.#lines > 2 * (this.#messages.size + this.#people.size) + 1000) this.compact();
  }

  /** Count of changes so far. */
  get seq(): number {
    this.refresh();
    return this.#seq;
  }

  /** Lines of the journal that could not be read, 0 when all is well. */
  get damaged(): number {
    return this.#damaged;
  }

  message(id: string): StoredMessage | null {
    this.refresh();
    return this.#messages.get(id) ?? null;
  }

  /** All messages, removed ones too, oldest first. */
  messages(): StoredMessage[] {
    this.refresh();
    return [...this.#messages.values()];
  }

  byKey(key: string): StoredMessage | null {
    this.refresh();
    const id = this.#keys.get(key);
    return id === undefined ? null : (this.#messages.get(id) ?? null);
  }

  /** A file that some message holds now. */
  file(id: string): StoredFile | null {
    this.refresh();
    const holder = this.#messages.get(this.#holders.get(id) ?? '');
    return holder?.files.find((file) => file.id === id) ?? null;
  }

  people(): Person[] {
    this.refresh();
    return [...this.#people.values()].map(({ person }) => person);
  }

  /** The person of this name (case does not count) with the hash of their word. */
  named(name: string): StoredPerson | null {
    this.refresh();
    return [...this.#people.values()].find(({ person }) => person.name.toLowerCase() === name.toLowerCase()) ?? null;
  }

  addPerson(person: Person, word: string | null): void {
    this.refresh();
    this.#append({ seq: this.#seq + 1, person, word });
  }

  /** Adds a message, or returns the one that stands under the same key already. */
  add(message: NewMessage): { message: StoredMessage; isNew: boolean } {
    const earlier = message.key === null ? null : this.byKey(message.key);
    if (earlier !== null) return { message: earlier, isNew: false };
    this.refresh();
    const seq = this.#seq + 1;
    const full: StoredMessage = {
      buttons: [],
      choices: [],
      mention: null,
      ...message,
      id: String(seq),
      rev: seq,
      marks: [],
      edited: false,
      removed: false,
    };
    this.#append({ seq, message: full });
    return { message: full, isNew: true };
  }

  /** Changes a message that stands; null when there is none (any more). */
  change(id: string, next: Partial<Omit<StoredMessage, 'id' | 'rev'>>): StoredMessage | null {
    const old = this.message(id);
    if (old === null || old.removed) return null;
    const seq = this.#seq + 1;
    const full = { ...old, ...next, rev: seq };
    this.#append({ seq, message: full });
    return full;
  }

  /** Removes a message and rewrites the journal, so that nothing of its text stays on the disk. Returns what stood, null when gone already. */
  remove(id: string): StoredMessage | null {
    const old = this.#empty(id);
    if (old !== null) this.compact();
    return old;
  }

  /**
   * Removes every thread whose last message was sent until then, and forgets the places of those whose removal was due until `placesMs` (so
   * that a late repetition of a post finds its key for a while). Returns what stood.
   */
  removeUntil(untilMs: number, placesMs: number): StoredMessage[] {
    const lastMs = new Map<string, number>();
    const root = (message: StoredMessage) => message.thread ?? message.id;
    for (const message of this.messages()) lastMs.set(root(message), Math.max(lastMs.get(root(message)) ?? 0, message.sentAtMs));
    const due = this.messages().filter((message) => (lastMs.get(root(message)) ?? 0) <= untilMs);
    const removed = due.map(({ id }) => this.#empty(id)).filter((message) => message !== null);
    const places = due.filter((message) => (lastMs.get(root(message)) ?? 0) <= placesMs);
    for (const { id, key } of places) {
      this.#messages.delete(id);
      if (key !== null) this.#keys.delete(key);
    }
    if (removed.length + places.length > 0) this.compact();
    return removed;
  }

  #empty(id: string): StoredMessage | null {
    const old = this.message(id);
    if (old === null || old.removed) return null;
    const author = { ...old.author, name: '' };
    this.change(id, { removed: true, author, text: '', files: [], buttons: [], choices: [], mention: null, marks: [] });
    return old;
  }

  /** Calls `watcher` after each change of a message. */
  watch(watcher: (message: StoredMessage) => void): () => void {
    this.#watchers.add(watcher);
    return () => this.#watchers.delete(watcher);
  }

  /** Writes only what counts into a new journal and puts it in the old one's place in one step. */
  compact(): void {
    this.refresh();
    // The count stands on its own, so that it never goes back when the last message is gone.
    const lines: Line[] = [{ seq: this.#seq }];
    for (const one of this.#people.values()) lines.push({ seq: 0, ...one });
    for (const message of this.messages()) lines.push({ seq: message.rev, message });
    const next = `${this.#path}.next`;
    writeFileSync(next, lines.map((line) => `${JSON.stringify(line)}\n`).join(''), { mode: 0o600 });
    renameSync(next, this.#path);
    closeSync(this.#fd);
    this.#fd = openSync(this.#path, 'a+', 0o600);
    const { ino, size } = fstatSync(this.#fd);
    this.#inode = ino;
    this.#read = size;
    this.#lines = lines.length;
  }

  close(): void {
    closeSync(this.#fd);
  }

  /** Reads what was appended since the last look, by whomever; a replaced journal is read anew. */
  refresh(): void {
    let { ino, size } = statSync(this.#path);
    const before = new Map<string, StoredMessage>();
    if (ino !== this.#inode) {
      if (this.#inode !== 0) {
        closeSync(this.#fd);
        this.#fd = openSync(this.#path, 'a+', 0o600);
        for (const [id, message] of this.#messages) before.set(id, message);
        for (const map of [this.#messages, this.#people, this.#keys, this.#holders]) map.clear();
      }
      ({ ino, size } = fstatSync(this.#fd));
      this.#inode = ino;
      this.#read = 0;
      this.#lines = 0;
    }
    if (size <= this.#read) return;
    const bytes = Buffer.alloc(size - this.#read);
    const got = readSync(this.#fd, bytes, 0, bytes.length, this.#read);
    const end = bytes.subarray(0, got).lastIndexOf(10) + 1;
    this.#read += end;
    for (const text of bytes.toString('utf8', 0, end).split('\n')) {
      if (text === '') continue;
      this.#lines++;
      try {
        this.#take(JSON.parse(text) as Line, before);
      } catch {
        this.#damaged++;
      }
    }
  }

  #append(line: Line): void {
    const text = `${JSON.stringify(line)}\n`;
    try {
      appendFileSync(this.#fd, text);
    } catch (error) {
      // A full disk may have taken half of the line.
      ftruncateSync(this.#fd, this.#read);
      throw error;
    }
    this.refresh();
  }

  #take(line: Line, before: ReadonlyMap<string, StoredMessage>): void {
    this.#seq = Math.max(this.#seq, line.seq);
    if ('person' in line) this.#people.set(line.person.id, { person: line.person, word: line.word ?? null });
    else if ('message' in line) {
      const { id, rev } = line.message;
      const known = (this.#messages.get(id) ?? before.get(id))?.rev === rev;
      this.#messages.set(line.message.id, line.message);
      if (line.message.key !== null) this.#keys.set(line.message.key, line.message.id);
      for (const file of line.message.files) this.#holders.set(file.id, line.message.id);
      if (!known) for (const watcher of this.#watchers) watcher(line.message);
    }
  }
}

import { readFile } from 'node:fs/promises';

/** A message as the page reads it. */
export interface Seen {
  id: string;
  thread: string | null;
  channel: string;
  removed: boolean;
  text: string;
  author: { id: string; name: string; role: string };
  files: { url: string; name: string; alt: string | null; kind: string; bytes: number }[];
  buttons: { id: string; label: string }[];
  choices: { id: string; options: { value: string }[] }[];
  mention: string | null;
  marks: string[];
}

/** An answer of the room: status and what it said. */
export interface Answer<T> {
  status: number;
  body: T & { code?: string; message?: string };
}

let nonces = 0;
export const nonce = () => `nonce-${String(nonces++).padStart(8, '0')}`;

/** Does what the page does, over real HTTP, as one person. */
export async function enter(url: string, person: string, extra: Record<string, string> = {}) {
  const json = { 'content-type': 'application/json', ...extra };
  const entered = await fetch(`${url}/api/enter`, { method: 'POST', headers: json, body: JSON.stringify({ person }) });
  const { session } = (await entered.json()) as { session: string };
  const headers = { ...json, 'x-room-session': session };
  const ask = async <T>(method: string, path: string, body?: unknown): Promise<Answer<T>> => {
    const init: RequestInit = { method, headers };
    if (body !== undefined) init.body = JSON.stringify(body);
    const answer = await fetch(`${url}/api${path}`, init);
    return { status: answer.status, body: (await answer.json()) as Answer<T>['body'] };
  };
  return {
    session,
    ask,
    async upload(name: string, contentType: string, body: Buffer) {
      const answer = await fetch(`${url}/api/files?name=${encodeURIComponent(name)}`, {
        method: 'PUT',
        headers: { ...headers, 'content-type': contentType },
        body: new Uint8Array(body),
      });
      return { status: answer.status, body: (await answer.json()) as { key: string; code?: string; message?: string } };
    },
    async messages(channel: string): Promise<Seen[]> {
      const { body } = await ask<{ channels: { id: string; messages: Seen[] }[] }>('GET', '/state');
      return body.channels.find((one) => one.id === channel)?.messages ?? [];
    },
  };
}

/** The bytes behind a file's address. */
export async function bytesOf(url: string, file: { url: string }): Promise<Buffer> {
  return Buffer.from(await (await fetch(url + file.url)).arrayBuffer());
}

/** Lines of the room's journal in a data folder. */
export async function journal(folder: string): Promise<string[]> {
  return (await readFile(`${folder}/room.jsonl`, 'utf8')).split('\n').filter((line) => line !== '');
}

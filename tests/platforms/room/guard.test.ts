import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createRoom, type Room, type RoomOptions } from '../../../src/platforms/room/room.ts';
import { plainMessage, recordEvents, tinyMp4 } from '../platform-world.ts';
import { enter, nonce, type Seen } from './page-client.ts';

const never = new AbortController().signal;

/** One bare request, with any Host: fetch does not let a page or a test choose it. */
function bare(url: string, path: string, method: string, headers: Record<string, string>, body = '') {
  return new Promise<{ status: number; text: string; headers: Record<string, unknown> }>((resolve, reject) => {
    const { hostname, port } = new URL(url);
    const asked = request({ hostname, port, path, method, headers }, (answer) => {
      let text = '';
      answer.setEncoding('utf8');
      answer.on('data', (chunk) => {
        text += chunk;
      });
      answer.on('end', () => resolve({ status: answer.statusCode ?? 0, text, headers: answer.headers }));
    });
    asked.on('error', reject);
    asked.end(body);
  });
}

describe('the room and strangers', () => {
  let folder: string;
  let room: Room;
  let url: string;
  let got: ReturnType<typeof recordEvents>;
  let nowMs: number;

  const start = async (options: Partial<RoomOptions> = {}) => {
    room = createRoom({ dataFolder: folder, port: 0, maxUploadBytes: 5000, now: () => nowMs, ...options });
    room.app.get('/healthz', (c) => c.text('well'));
    got = recordEvents();
    await room.start(got.events, [], never);
    url = room.address() ?? '';
  };
  beforeEach(() => {
    nowMs = 1_700_000_000_000;
    folder = mkdtempSync(join(tmpdir(), 'qv-guard-'));
  });
  afterEach(async () => {
    await room.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  it('answers to its own names only', async () => {
    await start();
    const port = new URL(url).port;
    for (const host of [`127.0.0.1:${port}`, `localhost:${port}`, `[::1]:${port}`])
      expect([host, (await bare(url, '/', 'GET', { host })).status]).toEqual([host, 200]);
    for (const host of [
      'rebound.example',
      `rebound.example:${port}`,
      '192.0.2.7',
      '127.0.0.1.rebound.example',
      'localhost.example',
    ])
      expect([host, (await bare(url, '/', 'GET', { host })).status]).toEqual([host, 421]);
  });

  it('leaves routes of others unguarded', async () => {
    await start();
    expect(await bare(url, '/healthz', 'GET', { host: 'bot.internal' })).toMatchObject({ status: 200, text: 'well' });
  });

  it('does nothing that another site asks for', async () => {
    await start();
    const host = new URL(url).host;
    const body = JSON.stringify({ person: 'juno' });
    const ask = async (headers: Record<string, string>) =>
      (await bare(url, '/api/enter', 'POST', { host, ...headers }, body)).status;
    expect(await ask({})).toBe(200);
    expect(await ask({ origin: `http://${host}`, 'sec-fetch-site': 'same-origin' })).toBe(200);
    expect(await ask({ origin: 'http://evil.example' })).toBe(403);
    expect(await ask({ origin: 'null', 'sec-fetch-site': 'same-origin' }), 'a plain form of ours').toBe(200);
    expect(await ask({ origin: 'null' })).toBe(403);
    expect(await ask({ origin: 'null', 'sec-fetch-site': 'cross-site' })).toBe(403);
    expect(await ask({ origin: `http://localhost:1` })).toBe(403);
    expect(await ask({ 'sec-fetch-site': 'cross-site' })).toBe(403);
    expect(await ask({ 'sec-fetch-site': 'same-site' })).toBe(403);
    const withoutToken = await bare(url, '/api/messages', 'POST', { host }, '{}');
    expect(withoutToken.status).toBe(401);
    expect(got.messages).toEqual([]);
  });

  it('carries a strict policy on every answer', async () => {
    await start();
    for (const path of ['/', '/room.js', '/api/people', '/nothing', '/files/x/y']) {
      const { headers } = await bare(url, path, 'GET', { host: new URL(url).host });
      const policy = String(headers['content-security-policy']);
      expect(policy).toContain("default-src 'none'");
      expect(policy).not.toContain('unsafe');
      expect(headers['x-content-type-options']).toBe('nosniff');
      if (path.startsWith('/api')) expect(headers['cache-control']).toBe('no-store');
    }
  });

  it('hands out only what it has', async () => {
    await start();
    for (const path of [
      '/../room.ts',
      '/%2e%2e/room.ts',
      '/page/index.html',
      '/files/../room.jsonl',
      '/files/..%2froom.jsonl/x',
      '/login.html',
    ])
      expect([path, (await bare(url, path, 'GET', { host: new URL(url).host })).status]).toEqual([path, 404]);
  });

  it('serves a file that could run only as a download, and ranges of a clip', async () => {
    await start();
    const juno = await enter(url, 'juno');
    const keys = [];
    for (const [name, type] of [
      ['a.mp4', 'video/mp4'],
      ['page.html', 'text/html'],
      ['logo.svg', 'image/svg+xml'],
    ] as const)
      keys.push((await juno.upload(name, type, tinyMp4)).body.key);
    const { body } = await juno.ask<Seen>('POST', '/messages', {
      channel: 'clips',
      thread: null,
      text: '',
      files: keys,
      nonce: nonce(),
    });
    const [clip, page, svg] = body.files;
    for (const file of [page, svg]) {
      const { headers } = await fetch(url + file?.url);
      expect(headers.get('content-type')).toBe('application/octet-stream');
      expect(headers.get('content-disposition')).toMatch(/^attachment/);
      expect(headers.get('content-security-policy')).toContain('sandbox');
    }
    const part = async (range: string) => {
      const answer = await fetch(url + clip?.url, { headers: { range } });
      return [answer.status, answer.headers.get('content-range'), Buffer.from(await answer.arrayBuffer())];
    };
    const size = tinyMp4.length;
    expect(await part('bytes=0-9')).toEqual([206, `bytes 0-9/${size}`, tinyMp4.subarray(0, 10)]);
    expect(await part(`bytes=${size - 4}-`)).toEqual([206, `bytes ${size - 4}-${size - 1}/${size}`, tinyMp4.subarray(-4)]);
    expect(await part('bytes=-4')).toEqual([206, `bytes ${size - 4}-${size - 1}/${size}`, tinyMp4.subarray(-4)]);
    expect((await part(`bytes=${size}-`)).slice(0, 2)).toEqual([416, `bytes */${size}`]);
  });

  it('refuses an upload over the cap, announced or not, an empty one, and keeps nothing of them', async () => {
    await start();
    const juno = await enter(url, 'juno');
    expect((await juno.upload('fits.mp4', 'video/mp4', Buffer.alloc(5000, 1))).status).toBe(200);
    const kept = readdirSync(join(folder, 'files'));
    expect(kept).toHaveLength(1);
    const headers = { host: new URL(url).host, 'x-room-session': juno.session, 'content-length': '5001' };
    expect(await bare(url, '/api/files?name=a', 'PUT', headers, 'x'.repeat(5001))).toMatchObject({ status: 413 });
    const chunked = { host: headers.host, 'x-room-session': juno.session, 'transfer-encoding': 'chunked' };
    const unannounced = await bare(url, '/api/files?name=a', 'PUT', chunked, 'x'.repeat(5001));
    expect([unannounced.status, JSON.parse(unannounced.text).code]).toEqual([413, 'too-big']);
    expect((await juno.upload('empty.mp4', 'video/mp4', Buffer.alloc(0))).body.code).toBe('empty');
    expect(readdirSync(join(folder, 'files'))).toEqual(kept);
  });

  it('refuses acts that are forged, stale, not filled in, or not for this person', async () => {
    await start();
    const button = { id: 'take:1', label: 'Take', style: 'plain' as const };
    const card = await room.post({ channel: 'coaches', message: null }, plainMessage('card', { buttons: [button] }), 'k', never);
    const juno = await enter(url, 'juno');
    const ilse = await enter(url, 'ilse');
    const press = (who: typeof juno, more: Record<string, unknown>) =>
      who.ask('POST', '/actions', { kind: 'button', id: 'take:1', message: card.message, nonce: nonce(), values: {}, ...more });
    expect(await press(juno, {})).toMatchObject({ status: 403, body: { code: 'forbidden' } });
    expect(await press(ilse, { id: 'take:2' })).toMatchObject({ status: 409, body: { code: 'stale' } });
    expect(await press(ilse, { message: '999' })).toMatchObject({ status: 409, body: { code: 'stale' } });
    expect(await press(ilse, { nonce: 'x' })).toMatchObject({ status: 400 });
    expect(await press(ilse, { kind: 'form', key: 'made-up' })).toMatchObject({ status: 409 });
    expect(await press(ilse, { kind: 'command', id: 'nosuch' })).toMatchObject({ status: 409 });
    expect(got.actions).toEqual([]);
    const field = { id: 'why', label: 'Why', required: true, hint: '', kind: 'text', lines: 'one', maxLength: 5 } as const;
    got.answer = async (action) =>
      action.kind === 'form' ? { kind: 'nothing' } : { kind: 'form', form: { id: 'f', title: 'F', fields: [field] } };
    const opened = await ilse.ask<{ key: string }>('POST', '/actions', {
      kind: 'button',
      id: 'take:1',
      message: card.message,
      nonce: nonce(),
      values: {},
    });
    const send = (who: typeof juno, values: Record<string, string>) =>
      who.ask('POST', '/actions', { kind: 'form', id: 'f', key: opened.body.key, nonce: nonce(), values });
    expect((await send(juno, { why: 'mine' })).status).toBe(409);
    expect((await send(ilse, {})).body.code).toBe('incomplete');
    expect((await send(ilse, { why: '123456' })).body.code).toBe('incomplete');
    expect((await send(ilse, { why: '12345', extra: 'x' })).status).toBe(200);
    expect(got.actions.at(-1)?.values).toEqual({ why: '12345' });
    expect((await send(ilse, { why: '12345' })).body.code, 'a form is sent once').toBe('stale');
  });

  it('never shows a member what is for coaches, live or asked for', async () => {
    await start();
    const juno = await enter(url, 'juno');
    const stop = new AbortController();
    const line = await fetch(`${url}/api/events?session=${juno.session}&after=0`, { signal: stop.signal });
    const card = await room.post({ channel: 'coaches', message: null }, plainMessage('secret card'), 'k-1', never);
    await room.post({ channel: 'clips', message: null }, plainMessage('for all'), 'k-2', never);
    let heard = '';
    for await (const chunk of line.body as unknown as AsyncIterable<Uint8Array>) {
      heard += Buffer.from(chunk).toString();
      if (heard.includes('for all')) break;
    }
    stop.abort();
    expect(heard).not.toContain('secret');
    expect(JSON.stringify((await juno.ask('GET', '/state')).body)).not.toContain('secret');
    expect((await juno.ask('GET', '/threads?channel=coaches')).status).toBe(403);
    expect((await juno.ask('GET', `/threads/${card.message}`)).status).toBe(404);
  });

  it('lets only the author change or take back a post, and takes no names twice', async () => {
    await start();
    const juno = await enter(url, 'juno');
    const odo = await enter(url, 'odo');
    const post = { channel: 'clips', thread: null, text: 'mine', files: [], nonce: nonce() };
    const { body } = await juno.ask<Seen>('POST', '/messages', post);
    expect((await odo.ask('PUT', `/messages/${body.id}`, { text: 'yours', files: null })).status).toBe(403);
    expect((await odo.ask('DELETE', `/messages/${body.id}`)).status).toBe(403);
    const { key } = (await juno.upload('added.mp4', 'video/mp4', tinyMp4)).body;
    expect((await odo.ask('PUT', `/messages/${body.id}`, { text: 'x', files: null, add: [key] })).status).toBe(403);
    const changed = await juno.ask<Seen>('PUT', `/messages/${body.id}`, { text: 'mine, with a clip', files: null, add: [key] });
    expect(changed.body).toMatchObject({ text: 'mine, with a clip', files: [{ name: 'added.mp4' }] });
    const more = (await juno.upload('more.mp4', 'video/mp4', tinyMp4)).body.key;
    await juno.ask('PUT', `/messages/${body.id}`, { text: 'both', files: null, add: [more] });
    expect(got.messages.at(-1)?.files.map((file) => file.name)).toEqual(['added.mp4', 'more.mp4']);
    expect((await juno.ask<Seen>('POST', '/messages', post)).body.id, 'the same nonce posts once').toBe(body.id);
    expect((await juno.ask('DELETE', `/messages/${body.id}`)).status).toBe(200);
    expect(await odo.messages('clips')).toEqual([]);
    expect((await odo.ask('POST', '/people', { name: 'ilse' })).body.code).toBe('taken');
    expect((await odo.ask<{ name: string }>('POST', '/people', { name: ' R\u202Ee\nm/y ' })).body.name).toBe('Re m y');
  });

  it('refuses to listen elsewhere without a password, or with a useless one, and says so before', async () => {
    const cases: Partial<RoomOptions>[] = [
      { host: '0.0.0.0' },
      { publicHosts: ['room.example'] },
      { host: '0.0.0.0', passwords: { coach: 'chalk' } },
      { passwords: { coach: 'chalk' } },
      { passwords: { member: 'chalk', moderator: 'chalk' } },
    ];
    for (const options of cases) {
      room = createRoom({ dataFolder: folder, port: 0, ...options });
      expect((await room.preflight()).filter((row) => !row.ok).map((row) => row.what)).toEqual(['room: address']);
      const started = room.start(recordEvents().events, [], never);
      await expect(started).rejects.toMatchObject({ code: 'refused', retry: { final: true } });
      expect(room.address()).toBeNull();
      await room.stop();
    }
    room = createRoom({ dataFolder: folder, port: 0, host: '0.0.0.0', passwords: { member: 'chalk', coach: 'iron' } });
    const [found] = (await room.preflight()).filter((row) => row.what === 'room: address');
    expect(found).toMatchObject({ ok: true, found: '0.0.0.0; passwords for members, coaches' });
  });

  it('answers elsewhere to literal addresses and its public names only', async () => {
    await start({ host: '0.0.0.0', passwords: { member: 'p' }, publicHosts: ['room.example'] });
    const port = new URL(url).port;
    const ask = async (host: string) => (await bare(url, '/', 'GET', { host })).status;
    expect([await ask(`192.0.2.7:${port}`), await ask('room.example'), await ask('rebound.example')]).toEqual([200, 200, 421]);
  });
});

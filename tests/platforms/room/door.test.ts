import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Command } from '../../../src/platforms/port.ts';
import { createRoom, type Room, type RoomOptions } from '../../../src/platforms/room/room.ts';
import { addressOf } from '../../../src/platforms/room/tries.ts';
import { recordEvents } from '../platform-world.ts';
import { nonce } from './page-client.ts';

const never = new AbortController().signal;
const passwords = { member: 'chalk and iron', coach: 'plates and collars', moderator: 'racks and pins' };
const commands: Command[] = ['guide', 'waiting', 'rules'].map((name) => ({ name, description: name, fields: [] }));
const roles = { guide: 'member', waiting: 'coach', rules: 'moderator' } as const;

describe('the door of a shared room', () => {
  let folder: string;
  let room: Room;
  let nowMs: number;

  const start = async (options: Partial<RoomOptions> = {}) => {
    const roleFor = ({ name }: Command) => roles[name as keyof typeof roles];
    room = createRoom({ dataFolder: folder, port: 0, now: () => nowMs, passwords, roleFor, ...options });
    await room.start(recordEvents().events, commands, never);
  };
  beforeEach(() => {
    nowMs = 1_700_000_000_000;
    folder = mkdtempSync(join(tmpdir(), 'qv-door-'));
  });
  afterEach(async () => {
    await room.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  /** Knocks as the login form does. */
  const knock = async (password: string, name: string, word: string, headers: Record<string, string> = {}) => {
    const body = new URLSearchParams({ password, name, word });
    const answer = await fetch(`${room.address()}/login`, { method: 'POST', body, redirect: 'manual', headers });
    const set = answer.headers.get('set-cookie') ?? '';
    return { status: answer.status, set, cookie: set.split(';')[0] ?? '', text: await answer.text() };
  };
  const get = async (path: string, headers: Record<string, string> = {}) => {
    const answer = await fetch(`${room.address()}${path}`, { headers });
    return { status: answer.status, text: await answer.text() };
  };
  const post = async <T>(path: string, body: unknown, headers: Record<string, string>) => {
    const init = { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body: JSON.stringify(body) };
    const answer = await fetch(`${room.address()}/api${path}`, init);
    return { status: answer.status, body: (await answer.json()) as T };
  };
  /** Comes in and chooses the person that the room offers. */
  const comeIn = async (password: string, name: string, word = `${name}-own-word`) => {
    const { status, cookie } = await knock(password, name, word);
    expect([name, status]).toEqual([name, 303]);
    const { people } = JSON.parse((await get('/api/people', { cookie })).text) as { people: { id: string; role: string }[] };
    const me = people[0];
    const { body } = await post<{ session: string }>('/enter', { person: me?.id }, { cookie });
    return { people, me, cookie, session: body.session, headers: { cookie, 'x-room-session': body.session } };
  };

  it('lets nobody in without a password, on any route, and shuts after five wrong ones', async () => {
    await start();
    expect((await get('/')).text).toContain('type="password"');
    for (const path of ['/api/people', '/room.js', '/files/a/b', '/api/events'])
      expect([path, (await get(path)).status]).toEqual([path, 401]);
    const right = await knock(passwords.member, 'Tamsin', 'own word');
    expect(right.status).toBe(303);
    expect(right.set).toMatch(/HttpOnly/);
    expect(right.set).toMatch(/SameSite=Strict/);
    expect((await get('/api/people', { cookie: right.cookie })).status).toBe(200);
    for (const wrong of ['chalk', '', '\0', 'null', 'CHALK AND IRON'])
      expect([wrong, (await knock(wrong, 'Tamsin', 'own word')).status]).toEqual([wrong, 401]);
    expect((await knock(passwords.member, 'Tamsin', 'own word')).status, 'shut after five wrong ones').toBe(429);
    nowMs += 30_000;
    expect((await knock(passwords.member, 'Tamsin', 'own word')).status).toBe(303);
  });

  const via = (address: string) => ({ 'x-forwarded-for': address });

  it('lets no stranger keep others out, nor a member guess on between their own right words', async () => {
    await start();
    const odo = await comeIn(passwords.member, 'Odo');
    for (let i = 0; i < 5; i += 1) expect((await knock('guess', 'Odo', 'own word', via('203.0.113.9'))).status).toBe(401);
    expect((await knock(passwords.member, 'Pell', 'own word', via('203.0.113.9'))).status).toBe(429);
    // What the one who connects says of those before counts for nothing.
    const forged = via('198.51.100.77, 203.0.113.9');
    expect((await knock(passwords.member, 'Pell', 'own word', forged)).status).toBe(429);
    expect((await knock(passwords.member, 'Pell', 'own word', via('203.0.113.10'))).status).toBe(303);
    expect((await get('/api/state', odo.headers)).status, 'who is in stays in').toBe(200);
    const [guess, right] = [[], []] as number[][];
    for (let i = 0; i < 8; i += 1) {
      guess?.push((await knock(`coach ${i}`, 'Pell', 'own word', via('203.0.113.10'))).status);
      right?.push((await knock(passwords.member, 'Pell', 'own word', via('203.0.113.10'))).status);
    }
    expect(guess).toEqual([401, 401, 401, 401, 401, 429, 429, 429]);
    expect(right).toEqual([303, 303, 303, 303, 429, 429, 429, 429]);
  });

  it('has a ceiling for many addresses together, above which those who came in before are heard', async () => {
    await start();
    const home = via('203.0.113.10');
    expect((await knock(passwords.member, 'Pell', 'own word', home)).status).toBe(303);
    for (let i = 0; i < 100; i += 1)
      expect((await knock('guess', 'Odo', 'own word', via(`198.51.100.${i}`))).status, `${i}`).toBe(401);
    expect((await knock(passwords.member, 'Odo', 'own word', via('198.51.100.200'))).status).toBe(429);
    expect((await knock(passwords.member, 'Pell', 'own word', home)).status).toBe(303);
    nowMs += 10_000;
    expect((await knock(passwords.member, 'Odo', 'own word', via('198.51.100.200'))).status).toBe(303);
  });

  it.each([
    ['192.0.2.1', undefined, '192.0.2.1'],
    ['::ffff:192.0.2.1', undefined, '192.0.2.1'],
    ['192.0.2.1', '198.51.100.1', '192.0.2.1'],
    ['127.0.0.1', '198.51.100.1, 198.51.100.2', '198.51.100.2'],
    ['127.0.0.1', 'nonsense', '127.0.0.1'],
    ['2001:db8:1:2:3:4:5:6', undefined, '2001:db8:1:2'],
    ['2001:db8::6', undefined, '2001:db8:0:0'],
    ['::1', '2001:db8:1:2::9', '2001:db8:1:2'],
    [undefined, undefined, ''],
  ])('counts the tries of %s for %s as those of %s', (peer, told, address) => expect(addressOf(peer, told)).toBe(address));

  it('makes each what their password says, and nobody anything else', async () => {
    await start();
    const odo = await comeIn(passwords.member, 'Odo');
    const ilse = await comeIn(passwords.coach, 'Ilse');
    const wren = await comeIn(passwords.moderator, 'Wren');
    expect([odo, ilse, wren].map(({ people }) => people.map(({ role }) => role))).toEqual([['member'], ['coach'], ['moderator']]);
    for (const person of [ilse.me?.id, wren.me?.id, 'ilse', 'wren', 'juno'])
      expect([person, (await post('/enter', { person }, { cookie: odo.cookie })).status]).toEqual([person, 404]);
    const parts = async ({ headers }: typeof odo) => {
      const state = JSON.parse((await get('/api/state', headers)).text);
      return [state.channels.map((one: { kind: string }) => one.kind), state.commands.map((one: Command) => one.name)];
    };
    expect(await parts(odo)).toEqual([['clips'], ['guide']]);
    expect(await parts(ilse)).toEqual([
      ['coaches', 'clips'],
      ['guide', 'waiting'],
    ]);
    expect(await parts(wren)).toEqual([
      ['moderators', 'coaches', 'clips'],
      ['guide', 'waiting', 'rules'],
    ]);
    const made = await post('/people', { name: 'Someone else' }, { cookie: odo.cookie });
    expect(made.status).toBe(403);
  });

  it('lets nobody use the session of another', async () => {
    await start();
    const odo = await comeIn(passwords.member, 'Odo');
    const ilse = await comeIn(passwords.coach, 'Ilse');
    const stolen = { cookie: odo.cookie, 'x-room-session': ilse.session };
    expect((await get('/api/state', stolen)).status).toBe(401);
    expect((await get(`/api/events?session=${ilse.session}`, { cookie: odo.cookie })).status).toBe(401);
    const message = { channel: 'clips', thread: null, text: 'as Ilse', files: [], nonce: nonce() };
    expect((await post('/messages', message, stolen)).status).toBe(401);
  });

  it('offers no role that has no password', async () => {
    await start({ passwords: { member: passwords.member } });
    for (const password of [passwords.coach, passwords.moderator, '', 'null', '\0'])
      expect([password, (await knock(password, 'Odo', 'own word')).status]).toEqual([password, 401]);
  });

  it('keeps a name for who has its word, in their role, after a restart too', async () => {
    await start();
    const first = await comeIn(passwords.member, 'Odo', 'my own word');
    await room.stop();
    expect(readFileSync(join(folder, 'room.jsonl'), 'utf8')).not.toContain('my own word');
    await start();
    expect((await get('/api/people', { cookie: first.cookie })).status, 'a pass ends with the room').toBe(401);
    const again = await comeIn(passwords.member, ' odo ', 'my own word');
    expect(again.me).toEqual(first.me);
    expect((await knock(passwords.member, 'Odo', 'another word')).status).toBe(401);
    const promoted = await knock(passwords.coach, 'Odo', 'my own word');
    expect([promoted.status, promoted.text]).toEqual([401, expect.stringContaining('You are a member here')]);
    expect((await knock(passwords.member, 'Quarterview', 'my own word')).status).toBe(400);
    expect((await knock(passwords.member, 'Pell', 'short')).status).toBe(400);
    expect((await knock(passwords.member, ' \u202e ', 'my own word')).status).toBe(400);
  });

  it('gives nobody a name that was made while the room was open to this computer only', async () => {
    await start({ passwords: {} });
    await post('/people', { name: 'Remy' }, {});
    await room.stop();
    await start();
    expect((await knock(passwords.member, 'Remy', 'own word')).status).toBe(401);
  });

  it('lets people leave, and come in as another', async () => {
    await start();
    const odo = await comeIn(passwords.member, 'Odo');
    const left = await fetch(`${room.address()}/leave`, { method: 'POST', headers: { cookie: odo.cookie }, redirect: 'manual' });
    expect([left.status, left.headers.get('set-cookie')]).toEqual([303, expect.stringContaining('room_pass=;')]);
    expect((await get('/api/state', odo.headers)).status).toBe(401);
    expect((await comeIn(passwords.coach, 'Brannock')).me?.role).toBe('coach');
  });
});

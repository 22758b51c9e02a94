import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { clipRoutes } from '../../src/queue/clip-routes.ts';
import { checkAddress, signAddress } from '../../src/queue/signed-address.ts';

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-address-'));
afterAll(() => rmSync(folder, { recursive: true }));
const file = join(folder, 'a.clip');
writeFileSync(file, 'the clip');
let nowMs = 1000;
const app = clipRoutes({
  secret: 's',
  fileOf: async (id) => (id === 'a' ? file : id === 'lost' ? join(folder, 'lost') : null),
  nowMs: () => nowMs,
});
const get = (url: string) => app.request(url);

describe('signed clip addresses', () => {
  it('serves the clip until the time has come', async () => {
    const url = signAddress('http://bot.example/base', 's', 'a', 2000);
    expect(url).toMatch(/^http:\/\/bot\.example\/base\/clips\/a\?expires=2000&signature=[\w-]{43}$/);
    const path = url.replace('/base', '');
    nowMs = 1999;
    const answer = await get(path);
    expect([answer.status, answer.headers.get('content-length'), await answer.text()]).toEqual([200, '8', 'the clip']);
    nowMs = 2000;
    expect((await get(path)).status).toBe(410);
  });

  it.each([
    ['another clip', (url: string) => url.replace('/clips/a', '/clips/b'), 403],
    ['a later time', (url: string) => url.replace('expires=2000', 'expires=9000'), 403],
    ['no signature', (url: string) => url.replace(/&signature=.*/, ''), 403],
    ['a time that is no number', (url: string) => url.replace('expires=2000', 'expires=2000.0'), 403],
    ['a shorter signature', (url: string) => url.slice(0, -1), 403],
    ['another secret', () => signAddress('http://bot.example', 't', 'a', 2000), 403],
    ['a clip that was deleted', () => signAddress('http://bot.example', 's', 'lost', 2000), 404],
    ['an unknown clip', () => signAddress('http://bot.example', 's', 'c', 2000), 404],
  ] as const)('refuses %s', async (_, change, status) => {
    nowMs = 1000;
    expect((await get(change(signAddress('http://bot.example', 's', 'a', 2000)))).status).toBe(status);
  });

  it('takes ids with signs that need escaping', () => {
    const url = new URL(signAddress('http://bot.example', 's', 'slack-C1-17.5 é/..', 2000));
    const id = decodeURIComponent(url.pathname.replace('/clips/', ''));
    expect(id).toBe('slack-C1-17.5 é/..');
    expect(checkAddress('s', id, '2000', url.searchParams.get('signature') ?? '', 1)).toBe('good');
  });
});

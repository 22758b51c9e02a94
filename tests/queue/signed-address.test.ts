import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect, it } from 'vitest';
import { clipRoutes } from '../../src/queue/clip-routes.ts';
import { createClipAddresses } from '../../src/queue/signed-address.ts';

const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-address-'));
afterAll(() => rmSync(folder, { recursive: true }));
const file = join(folder, 'a.clip');
writeFileSync(file, 'the clip');
const large = join(folder, 'large.clip');
writeFileSync(large, Buffer.alloc(4_000_000));
let nowMs = 1000;
const addressesOf = (secret: string, run: string) =>
  createClipAddresses({ secret, expiresAfterMs: 1000, run, nowMs: () => nowMs });
const addresses = addressesOf('s', 'r');
const files: Record<string, string> = { a: file, b: file, large, lost: join(folder, 'lost') };
const app = clipRoutes({ addresses, fileOf: async (id) => files[id] ?? null });
const get = (url: string) => app.request(url);

describe('signed clip addresses', () => {
  it('serves the clip once', async () => {
    nowMs = 1999;
    const url = addresses.sign('http://bot.example/base', 'a');
    expect(url).toMatch(/^http:\/\/bot\.example\/base\/clips\/a\?expires=2999&use=r\.\d+&signature=[\w-]{43}$/);
    const path = url.replace('/base', '');
    const answer = await get(path);
    expect([answer.status, answer.headers.get('content-length'), await answer.text()]).toEqual([200, '8', 'the clip']);
    const again = await get(path);
    expect([again.status, await again.text()]).toEqual([410, 'used']);
    const fresh = await get(addresses.sign('http://bot.example', 'a'));
    expect([fresh.status, await fresh.text()]).toEqual([200, 'the clip']);
  });

  it('serves nothing once the time has come', async () => {
    nowMs = 1000;
    const url = addresses.sign('http://bot.example', 'a');
    nowMs = 2000;
    const answer = await get(url);
    expect([answer.status, await answer.text()]).toEqual([410, 'expired']);
  });

  it('gives one of two that come at once the clip', async () => {
    nowMs = 1000;
    const url = addresses.sign('http://bot.example', 'large');
    const both = await Promise.all([get(url), get(url)]);
    expect(both.map(({ status }) => status).sort()).toEqual([200, 410]);
    for (const one of both) await one.arrayBuffer();
  });

  it('stays good when the transfer breaks off', async () => {
    nowMs = 1000;
    const url = addresses.sign('http://bot.example', 'large');
    const broken = await get(url);
    const reader = broken.body!.getReader();
    await reader.read();
    await reader.cancel();
    let answer = await get(url);
    for (let i = 0; answer.status === 410 && i < 100; i++) {
      await wait(10); // the file is closed a moment later
      answer = await get(url);
    }
    expect([answer.status, (await answer.arrayBuffer()).byteLength]).toEqual([200, 4_000_000]);
    expect((await get(url)).status).toBe(410);
  });

  it('is not used up by a look at its head', async () => {
    nowMs = 1000;
    const url = addresses.sign('http://bot.example', 'a');
    expect((await app.request(url, { method: 'HEAD' })).status).toBe(405);
    expect((await get(url)).status).toBe(200);
  });

  it('counts an address of an earlier run as used', async () => {
    nowMs = 1000;
    const answer = await get(addressesOf('s', 'before').sign('http://bot.example', 'a'));
    expect([answer.status, await answer.text()]).toEqual([410, 'used']);
  });

  it.each([
    ['another clip', (url: string) => url.replace('/clips/a', '/clips/b'), 403],
    ['a later time', (url: string) => url.replace('expires=2000', 'expires=9000'), 403],
    ['another use', (url: string) => url.replace(/use=r\.\d+/, 'use=r.999'), 403],
    ['no signature', (url: string) => url.replace(/&signature=.*/, ''), 403],
    ['a time that is no number', (url: string) => url.replace('expires=2000', 'expires=2000.0'), 403],
    ['a shorter signature', (url: string) => url.slice(0, -1), 403],
    ['another secret', () => addressesOf('t', 'r').sign('http://bot.example', 'a'), 403],
    ['a clip that was deleted', () => addresses.sign('http://bot.example', 'lost'), 404],
    ['an unknown clip', () => addresses.sign('http://bot.example', 'c'), 404],
  ] as const)('refuses %s', async (_, change, status) => {
    nowMs = 1000;
    expect((await get(change(addresses.sign('http://bot.example', 'a')))).status).toBe(status);
  });

  it('takes ids with signs that need escaping', () => {
    nowMs = 1000;
    const url = new URL(addresses.sign('http://bot.example', 'slack-C1-17.5 é/..'));
    const id = decodeURIComponent(url.pathname.replace('/clips/', ''));
    expect(id).toBe('slack-C1-17.5 é/..');
    const part = (name: string) => url.searchParams.get(name) ?? '';
    const given = { id, expires: part('expires'), use: part('use'), signature: part('signature') };
    expect(addresses.take(given)).toBe('good');
    expect(addresses.take(given)).toBe('used');
  });
});

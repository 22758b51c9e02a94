import { readFile, stat } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { tinyMp4, until } from '../platform-world.ts';
import { tokens } from './front.ts';
import { clip, commands, fail, never, useSlack } from './use-slack.ts';

type Json = { [key: string]: unknown };

const scene = useSlack();
const { open } = scene;

describe('events from Slack', () => {
  it('refuses a wrong signature and an old one, and passes nothing on', async () => {
    await open('http');
    const ref = await scene.world.postMember({ text: 'real', files: [clip()] });
    await until('message', () => scene.got.messages.length > 0);
    const body = JSON.stringify({
      type: 'event_callback',
      event: scene.world.eventOf(scene.world.channel, (await scene.world.stored(ref))!),
    });
    const wrong = await scene.world.deliverSigned('/slack/events', body, 'application/json', {}, 'f'.repeat(32));
    const old = await scene.world.deliverSigned('/slack/events', body, 'application/json', {
      'x-slack-request-timestamp': '1500000000',
    });
    expect([wrong.status, old.status]).toEqual([401, 401]);
    const right = await scene.world.deliverSigned('/slack/events', body, 'application/json');
    expect(right.status).toBe(200);
    await until('second message', () => scene.got.messages.length > 1);
    expect(scene.got.messages).toHaveLength(2);
  });

  it('takes an event that Slack sends again, under the same ref', async () => {
    await open('http');
    const ref = await scene.world.postMember({ text: 'once', files: [clip()] });
    const event = scene.world.eventOf(scene.world.channel, (await scene.world.stored(ref))!);
    const status = await scene.world.deliverEvent(event, { 'x-slack-retry-num': '3', 'x-slack-retry-reason': 'http_timeout' });
    expect(status).toBe(200);
    await until('both', () => scene.got.messages.length === 2);
    expect(scene.got.messages[1]).toEqual(scene.got.messages[0]);
  });

  it('asks for a file of which only the id came', async () => {
    await open('http');
    const ref = await scene.world.postMember({ text: 'elsewhere', files: [clip('far.mp4')], channel: scene.world.otherChannel });
    const message = (await scene.world.stored(ref))!;
    const id = String(message.files?.[0]?.id);
    // Slack docs, file object: in shared channels the event holds only this.
    await scene.world.deliverEvent({
      ...scene.world.eventOf(scene.world.channel, message),
      files: [{ id, file_access: 'check_file_info' }],
    });
    const [seen] = await until('message', () => scene.got.messages.length > 0 && scene.got.messages);
    expect(seen?.files).toEqual([{ id, name: 'far.mp4', contentType: 'application/octet-stream', bytes: tinyMp4.length }]);
  });

  it('leaves out a deleted file, and ignores edits that only add a link preview', async () => {
    await open('http');
    const ref = await scene.world.postMember({ text: 'look', files: [clip()] });
    const message = { ...(await scene.world.stored(ref))!, type: 'message' };
    const change = (after: Json, before: Json) => ({
      type: 'message',
      subtype: 'message_changed',
      channel: scene.world.channel,
      message: after,
      previous_message: before,
    });
    await scene.world.deliverEvent(change({ ...message, attachments: [{ title: 'preview' }] }, message));
    await scene.world.deliverEvent(change({ ...message, files: [{ id: 'F0GONE', mode: 'tombstone' }] }, message));
    await until('edit', () => scene.got.messages.length > 1);
    expect(scene.got.messages.map((one) => one.files.length)).toEqual([1, 0]);
  });

  it('hands a message over again when the bot could not take it', async () => {
    await open('http');
    let refusals = 1;
    const take = scene.got.events.onMessage;
    scene.got.events.onMessage = async (message) => {
      if (refusals-- > 0) throw new Error('ledger away');
      return take(message);
    };
    await scene.world.platform.stop();
    const second = await scene.world.again();
    await second.start(scene.got.events, commands, never);
    await scene.world.postMember({ text: 'keep me', files: [clip()] });
    await until('message', () => scene.got.messages.length > 0);
    expect(scene.got.messages.map((one) => one.text)).toEqual(['keep me']);
  });

  it('keeps the name and the groups of a person for the next message', async () => {
    await open('http');
    await scene.world.postMember({ text: 'one', files: [] });
    await scene.world.postMember({ text: 'two', files: [] });
    await until('both', () => scene.got.messages.length === 2);
    const asked = scene.world.front.calls.map((call) => call.method);
    expect(asked.filter((method) => method === 'users.info' || method === 'usergroups.list')).toHaveLength(2);
  });
});

describe('history', () => {
  it('reads every page of a long channel', async () => {
    await open('http');
    await scene.world.postMember({ text: 'first', files: [clip()] });
    for (let i = 0; i < 205; i++)
      await scene.world.front.call('chat.postMessage', { channel: scene.world.channel, text: `chat ${i}` }, tokens.member);
    await scene.world.postMember({ text: 'last', files: [clip()] });
    const found = await scene.world.platform.history(scene.world.channel, '0000000001.000000', 50, never);
    expect(found.map((one) => one.text)).toEqual(['first', 'last']);
    expect(
      scene.world.front.calls.filter((call) => call.method === 'conversations.history').map((call) => call.body.limit),
    ).toEqual([200, 200]);
  });

  it('waits out a rate limit in the middle', async () => {
    await open('http');
    await scene.world.postMember({ text: 'first', files: [clip()] });
    let limited = 0;
    scene.world.front.intercept = (method) =>
      method === 'conversations.history' && limited++ === 0
        ? { status: 429, headers: { 'retry-after': '0' }, ...fail('ratelimited') }
        : undefined;
    const found = await scene.world.platform.history(scene.world.channel, null, 50, never);
    expect(found.map((one) => one.text)).toEqual(['first']);
    expect(limited).toBe(2);
  });
});

describe('files from Slack', () => {
  it('says not-ready while there is no address, then fetches', async () => {
    await open('http');
    await scene.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => scene.got.messages[0]);
    const file = message.files[0]!;
    let asked = 0;
    scene.world.front.intercept = (method) =>
      method === 'files.info' && asked++ === 0
        ? { body: { ok: true, file: { id: file.id, name: file.name, size: 4024 } } }
        : undefined;
    const path = join(scene.folder, 'clip');
    await expect(scene.world.platform.fetchFile(message.ref, file, path, 1e6, never)).rejects.toMatchObject({
      code: 'not-ready',
      retry: { final: false },
    });
    await expect(stat(path)).rejects.toThrow();
    await scene.world.platform.fetchFile(message.ref, file, path, 1e6, never);
    expect(await readFile(path)).toEqual(tinyMp4);
  });

  it('keeps the token on a redirect within Slack, and never shows it to another host', async () => {
    await open('http');
    await scene.world.postMember({ text: 'clip', files: [clip()] });
    const message = await until('message', () => scene.got.messages[0]);
    const file = message.files[0]!;
    const heard: (string | undefined)[] = [];
    const stranger = createServer((request, response) => {
      heard.push(request.headers.authorization);
      response.end(tinyMp4);
    }).listen(0, '127.0.0.1');
    await until('stranger', () => stranger.listening);
    const { port } = stranger.address() as AddressInfo;
    const first = `/files-pri/${file.id}/${file.name}`;
    for (const [to, authorization] of [
      [`${first}?again`, 'kept'],
      [`http://localhost:${port}/`, undefined],
    ] as const) {
      let hops = 0;
      scene.world.front.intercept = (path) =>
        path === first && hops++ === 0 ? { status: 302, headers: { location: to }, body: '' } : undefined;
      await scene.world.platform.fetchFile(message.ref, file, join(scene.folder, 'clip'), 1e6, never);
      expect(await readFile(join(scene.folder, 'clip'))).toEqual(tinyMp4);
      if (authorization === undefined) expect(heard).toEqual([undefined]);
    }
    scene.world.front.intercept = (method) =>
      method === 'files.info'
        ? { body: { ok: true, file: { id: file.id, size: 10, url_private_download: `http://localhost:${port}/clip` } } }
        : undefined;
    await expect(scene.world.platform.fetchFile(message.ref, file, join(scene.folder, 'x'), 1e6, never)).rejects.toMatchObject({
      code: 'refused',
    });
    expect(heard).toEqual([undefined]);
    await new Promise((resolve) => stranger.close(resolve));
  });
});

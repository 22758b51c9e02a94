import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { type APIMessage, Routes } from 'discord.js';
import type { IncomingFile, MessageRef } from '../port.ts';
import type { DiscordApi } from './api.ts';
import { failureOf, finalFailure, passingFailure } from './failure.ts';
import { channelOf } from './incoming.ts';

/** A download that brings no byte for so long is given up, ms. Chosen. */
const stallMs = 30_000;

const isPage = (head: Buffer) =>
  /^\s*(<!doctype|<html|<head|<\?xml|<!--)/i.test(
    head
      .subarray(0, 512)
      .toString('latin1')
      .replace(/^\xEF\xBB\xBF/, ''),
  );

function checkAnswer(answer: Response): void {
  if (answer.status === 429) {
    const seconds = Number(answer.headers.get('retry-after'));
    throw passingFailure('rate-limited', 'file: rate limited', Number.isFinite(seconds) ? seconds * 1000 : null);
  }
  if (answer.status >= 500) throw passingFailure('unreachable', `file: answered ${answer.status}`);
  if (!answer.ok || !answer.body) throw passingFailure('not-ready', `file: answered ${answer.status}`);
  if (/^text\/html/i.test(answer.headers.get('content-type') ?? ''))
    throw passingFailure('not-ready', 'file: a page came in its place');
}

/** Passes bytes on up to `maxBytes`; the first ones must not be those of a page. `onBytes` is called for each piece. */
function guard(maxBytes: number, onBytes: (total: number) => void): Transform {
  let total = 0;
  return new Transform({
    transform(piece: Buffer, _encoding, done) {
      if (total === 0 && isPage(piece)) return done(passingFailure('not-ready', 'file: a page came in its place'));
      total += piece.length;
      if (total > maxBytes) return done(finalFailure('refused', `file: over ${maxBytes} bytes`));
      onBytes(total);
      done(null, piece);
    },
  });
}

/**
 * Writes an attachment to `path`. Its address is read from the message again, since addresses expire.
 *
 * @throws PlatformError `gone` (message or file deleted), `refused` (too big), `not-ready` (a page or an error in its place), `unreachable`.
 */
export async function fetchFile(
  api: DiscordApi,
  ref: MessageRef,
  file: IncomingFile,
  path: string,
  maxBytes: number,
  signal: AbortSignal,
): Promise<void> {
  const message = await api.call<APIMessage>('GET', Routes.channelMessage(channelOf(ref), ref.message), signal);
  const attachment = message.attachments.find(({ id }) => id === file.id);
  if (!attachment) throw finalFailure('gone', 'file: no longer in its message');
  if (attachment.size > maxBytes) throw finalFailure('refused', `file: ${attachment.size} bytes, over ${maxBytes}`);
  const part = `${path}.part`;
  const stall = new AbortController();
  let timer = setTimeout(() => stall.abort(), stallMs);
  let received = 0;
  try {
    const answer = await fetch(attachment.url, { signal: AbortSignal.any([signal, stall.signal]) });
    checkAnswer(answer);
    const onBytes = (total: number) => {
      received = total;
      clearTimeout(timer);
      timer = setTimeout(() => stall.abort(), stallMs);
    };
    await pipeline(Readable.fromWeb(answer.body as never), guard(maxBytes, onBytes), createWriteStream(part), { signal });
    if (received !== attachment.size) throw passingFailure('unreachable', `file: ${received} of ${attachment.size} bytes came`);
    await rename(part, path);
  } catch (error) {
    await rm(part, { force: true });
    if (signal.aborted) throw signal.reason;
    throw failureOf(error, 'file');
  } finally {
    clearTimeout(timer);
  }
}

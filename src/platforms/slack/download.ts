import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type { ReadableStream } from 'node:stream/web';
import { type IncomingFile, PlatformError } from '../port.ts';
import type { SlackApi } from './api.ts';
import { fromStatus, toPlatformError } from './errors.ts';

const redirectsMax = 5; // chosen
/** Milliseconds without an answer's head after which Slack counts as unreachable. Chosen. */
const headTimeoutMs = 30_000;

const notReady = (message: string, cause?: unknown) =>
  new PlatformError('not-ready', message, { final: false, retryAfterMs: 3000 }, { cause });
const refused = (message: string) => new PlatformError('refused', message, { final: true, retryAfterMs: null });

/** Whether the bot token may be shown to this address: Slack over TLS, or the server that the settings name. */
function mayHoldToken(url: URL, apiUrl: string): boolean {
  if (url.origin === new URL(apiUrl).origin) return true;
  return url.protocol === 'https:' && /(^|\.)(slack\.com|slack-gov\.com|slack-files\.com)$/.test(url.hostname);
}

/** Follows redirects by hand: fetch drops the Authorization header on some, and the token must not leave Slack. */
async function open(api: SlackApi, address: string, signal: AbortSignal): Promise<Response> {
  let url = new URL(address);
  if (!mayHoldToken(url, api.url)) throw refused(`the file is not kept by Slack (${url.hostname})`);
  for (let hop = 0; hop <= redirectsMax; hop++) {
    const headers: Record<string, string> = mayHoldToken(url, api.url) ? { authorization: `Bearer ${api.token}` } : {};
    const slow = new AbortController();
    const timer = setTimeout(() => slow.abort(new Error('no answer')), headTimeoutMs);
    const response = await fetch(url, { headers, redirect: 'manual', signal: AbortSignal.any([signal, slow.signal]) })
      .catch((cause) => {
        if (signal.aborted) throw signal.reason;
        throw toPlatformError(cause);
      })
      .finally(() => clearTimeout(timer));
    const next = response.headers.get('location');
    if (response.status < 300 || response.status >= 400 || next === null) return response;
    await response.body?.cancel();
    url = new URL(next, url);
  }
  throw refused('too many redirects');
}

/** A page or an API error where a file should be: by content type, or by the first characters. */
function isPage(contentType: string | null, head: Uint8Array): boolean {
  if (contentType !== null && /^\s*(text\/html|application\/xhtml\+xml)/i.test(contentType)) return true;
  const start = new TextDecoder('latin1').decode(head.subarray(0, 256)).replace(/^[\u00ef\u00bb\u00bf\s]+/, '');
  return /^(<(!doctype|html|head|body|script|\?xml)|\{"ok":false)/i.test(start);
}

/** Passes the body on, after looking at its first bytes and while counting them. */
async function* checked(body: AsyncIterable<Uint8Array>, contentType: string | null, maxBytes: number, declared: number | null) {
  let head: Buffer | null = Buffer.alloc(0);
  let bytes = 0;
  for await (const chunk of body) {
    bytes += chunk.length;
    if (bytes > maxBytes) throw refused(`the file is larger than ${maxBytes} bytes`);
    if (head !== null) {
      head = Buffer.concat([head, chunk]);
      if (head.length < 256) continue;
      if (isPage(contentType, head)) throw notReady('Slack sent a page in place of the file');
      yield head;
      head = null;
    } else yield chunk;
  }
  if (head !== null) {
    if (isPage(contentType, head)) throw notReady('Slack sent a page in place of the file');
    if (head.length === 0) throw notReady('Slack sent an empty file');
    yield head;
  }
  if (declared !== null && declared !== bytes)
    throw toPlatformError(new Error(`the download stopped at ${bytes} of ${declared} bytes`));
}

/**
 * Writes the file to `path`, by a fresh address from files.info. Throws PlatformError: `not-ready` while Slack has no address or sends a
 * page, `refused` above `maxBytes`, `gone` when it was deleted. Nothing is left at `path` after a failure.
 */
export async function download(
  api: SlackApi,
  file: IncomingFile,
  path: string,
  maxBytes: number,
  signal: AbortSignal,
): Promise<void> {
  if (file.bytes !== null && file.bytes > maxBytes) throw refused(`the file is larger than ${maxBytes} bytes`);
  const { file: info } = await api.patiently(signal, (web) => web.files.info({ file: file.id }));
  if (info?.mode === 'tombstone') {
    throw new PlatformError('gone', 'the file was deleted', { final: true, retryAfterMs: null });
  }
  if (!info?.url_private_download) throw notReady('Slack has not finished taking in the file');
  if (info.size !== undefined && info.size > maxBytes) throw refused(`the file is larger than ${maxBytes} bytes`);
  const response = await open(api, info.url_private_download, signal);
  if (response.status !== 200 || response.body === null) {
    await response.body?.cancel();
    throw fromStatus(response.status, response.headers.get('retry-after'));
  }
  const length = response.headers.get('content-length');
  const declared = length === null || response.headers.get('content-encoding') !== null ? null : Number(length);
  const part = `${path}.part`;
  try {
    const body = Readable.fromWeb(response.body as ReadableStream<Uint8Array>);
    await pipeline(
      body,
      (source: AsyncIterable<Uint8Array>) => checked(source, response.headers.get('content-type'), maxBytes, declared),
      createWriteStream(part),
      { signal },
    );
    await rename(part, path);
  } catch (error) {
    await rm(part, { force: true });
    if (signal.aborted) throw signal.reason;
    if (error instanceof Error && 'syscall' in error && 'path' in error) throw error;
    throw toPlatformError(error);
  }
}

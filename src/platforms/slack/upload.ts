import { openAsBlob } from 'node:fs';
import type { OutgoingFile } from '../port.ts';
import type { SlackApi } from './api.ts';
import { fromStatus, toPlatformError } from './errors.ts';
import { cut, visibleText } from './text.ts';

/** Longest alt text, characters (`alt_txt_too_large` of files.getUploadURLExternal). */
const altMax = 1000;
const uploadTimeoutMs = 300_000; // chosen: 250 MiB at 7 Mbit/s

/**
 * Brings the bytes to Slack without showing them anywhere; an upload that is never completed disappears by itself.
 * The alt text goes only with pictures: with other files Slack takes the upload and then never shares it (python-slack-sdk #1818).
 * It is sent under the name of the API's page (`alt_txt`) and of Slack's own library (`alt_text`).
 */
async function uploadOne(api: SlackApi, file: OutgoingFile, signal: AbortSignal): Promise<string> {
  const blob = await openAsBlob(file.path);
  const alt = file.alt === null ? null : cut(visibleText(file.alt), altMax);
  const place = (await api.patiently(signal, (web) =>
    web.apiCall('files.getUploadURLExternal', {
      filename: file.name,
      length: blob.size,
      ...(alt === null ? {} : { alt_txt: alt, alt_text: alt }),
    }),
  )) as { upload_url?: string; file_id?: string };
  const response = await fetch(place.upload_url!, {
    method: 'POST',
    headers: { 'content-type': 'application/octet-stream' },
    body: blob,
    signal: AbortSignal.any([signal, AbortSignal.timeout(uploadTimeoutMs)]),
  }).catch((cause) => {
    if (signal.aborted) throw signal.reason;
    throw toPlatformError(cause);
  });
  await response.body?.cancel();
  if (response.status !== 200) throw fromStatus(response.status, response.headers.get('retry-after'));
  return place.file_id!;
}

/** A file for `files.completeUploadExternal`. The highlight type lets Slack show a picture before its own processing ends. */
export interface UploadedFile {
  id: string;
  title: string;
  highlight_type?: string;
}

/** Uploads in order; ids of the uploads in the same order. */
export async function upload(api: SlackApi, files: OutgoingFile[], signal: AbortSignal): Promise<UploadedFile[]> {
  const uploaded: UploadedFile[] = [];
  for (const file of files) {
    const id = await uploadOne(api, file, signal);
    const picture = /\.(png|jpg|jpeg|gif)$/i.exec(file.name)?.[1]?.toLowerCase();
    const type = picture === undefined ? {} : { highlight_type: picture === 'jpeg' ? 'jpg' : picture };
    uploaded.push({ id, title: cut(visibleText(file.name), 255), ...type });
  }
  return uploaded;
}

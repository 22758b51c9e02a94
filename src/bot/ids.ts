import { createHash } from 'node:crypto';
import type { IncomingFile, IncomingMessage, MessageRef } from '../platforms/port.ts';

const longestId = 120; // chosen: with the hash and an ending far below the 255 bytes of a file name

/** Id of a clip: the same each time the same file of the same message is told; safe as a file name and a job id. */
export function submissionIdOf(ref: MessageRef, file: IncomingFile): string {
  const raw = `${ref.platform}-${ref.channel}-${ref.message}-${file.id}`;
  if (/^[\w.-]+$/.test(raw) && raw.length <= longestId) return raw;
  const hash = createHash('sha256').update(raw).digest('hex').slice(0, 16);
  return `${raw.replace(/[^\w.-]/g, '_').slice(0, longestId)}-${hash}`;
}

/** Key of the thread that a message stands in or opens. */
export function laneOf(message: IncomingMessage): string {
  const start = message.threadStart ?? message.ref;
  return `${start.platform}/${start.channel}/${start.message}`;
}

const videoName = /\.(mp4|m4v|mov|qt|webm|mkv|avi|3gp|3g2|mts|m2ts|mpg|mpeg|ts|wmv|ogv)$/i;

/** Whether a file is a clip, by its type or, where the platform does not say, its name. */
export function isClip(file: IncomingFile): boolean {
  if (file.contentType?.startsWith('video/')) return true;
  const says = file.contentType !== null && file.contentType !== 'application/octet-stream';
  return !says && videoName.test(file.name);
}

const videoSites =
  /\bhttps?:\/\/(?:[\w-]+\.)*(?:youtube\.com|youtu\.be|vimeo\.com|instagram\.com|tiktok\.com|streamable\.com|facebook\.com|fb\.watch|drive\.google\.com|photos\.app\.goo\.gl|photos\.google\.com|icloud\.com|dropbox\.com)\/\S/i;

/** Whether a text links to a place where people keep videos. */
export function linksToVideo(text: string): boolean {
  return videoSites.test(text);
}

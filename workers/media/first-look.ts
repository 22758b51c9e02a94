import { constants } from 'node:fs';
import { type FileHandle, open, stat } from 'node:fs/promises';
import { ClipError } from './clip-error.ts';

const headBytes = 4096; // chosen: a page of the disk; what tells the kinds apart stands in far less

/**
 * Looks at a file before anything reads it as a video: it is there, a plain file, readable, neither empty nor over `maxBytes`, and
 * begins like an ISO base media (mp4, mov) or Matroska (webm) file. Gives its size in bytes.
 * @throws ClipError clip-missing, clip-no-permission, clip-empty, clip-too-big, clip-playlist, clip-image-or-audio-only,
 * clip-codec-unknown (a video in a container that is not read), clip-not-video
 */
export async function firstLook(file: string, maxBytes: number): Promise<number> {
  let handle: FileHandle | null = null;
  try {
    const facts = await stat(file);
    if (!facts.isFile()) throw new ClipError('clip-not-video', 'not a plain file');
    handle = await open(file, constants.O_RDONLY | constants.O_NONBLOCK);
    if (facts.size === 0) throw new ClipError('clip-empty', 'no bytes');
    if (facts.size > maxBytes) throw new ClipError('clip-too-big', `${facts.size} bytes, at most ${maxBytes}`);
    const head = Buffer.alloc(headBytes);
    const { bytesRead } = await handle.read(head, 0, headBytes, 0);
    const kind = kindOf(head.subarray(0, bytesRead));
    if (kind !== 'video') throw new ClipError(kind, `begins with ${head.subarray(0, Math.min(bytesRead, 16)).toString('hex')}`);
    return facts.size;
  } catch (cause) {
    if (cause instanceof ClipError) throw cause;
    const code = (cause as NodeJS.ErrnoException).code;
    if (code === 'ENOENT' || code === 'ENOTDIR') throw new ClipError('clip-missing', 'no such file', { cause });
    if (code === 'EACCES' || code === 'EPERM') throw new ClipError('clip-no-permission', 'may not be read', { cause });
    throw new ClipError('clip-damaged', 'cannot be read', { cause, retry: true });
  } finally {
    await handle?.close();
  }
}

type Kind = 'video' | 'clip-playlist' | 'clip-image-or-audio-only' | 'clip-codec-unknown' | 'clip-not-video';

/** Box types that can open a file: ISO/IEC 14496-12 and the QuickTime file format (list from memory). */
const boxes = new Set(['ftyp', 'styp', 'moov', 'moof', 'mdat', 'free', 'skip', 'wide', 'pnot', 'uuid', 'sidx']);
/** Brands of still pictures (HEIF, AVIF) and of audio files (from memory). */
const stillBrands = /^(heic|heix|heim|heis|hevc|hevx|mif1|msf1|avif|avis|crx )$/;
const audioBrands = /^(M4A |M4B |M4P |F4A )$/;

/** What a file's first bytes say. Magic numbers from memory of the `file` program's database. */
function kindOf(head: Buffer): Kind {
  const text = head.toString('latin1');
  if (boxes.has(text.slice(4, 8))) {
    const brand = text.slice(4, 8) === 'ftyp' ? text.slice(8, 12) : '';
    return stillBrands.test(brand) || audioBrands.test(brand) ? 'clip-image-or-audio-only' : 'video';
  }
  if (text.startsWith('\x1a\x45\xdf\xa3')) return 'video';
  const typed = text.replace(/^\xef\xbb\xbf/, '').trimStart();
  if (
    /^(#EXTM3U|ffconcat|\[playlist\]|\[InternetShortcut\]|\[Reference\]|v=0\r?\n|RTSPtext|file\s+['"/\w]|<asx|<smil|<playlist)/i.test(
      typed,
    )
  )
    return 'clip-playlist';
  if (/^<(\?xml|!--|MPD|SmoothStreamingMedia)/i.test(typed) && /<(MPD|SmoothStreamingMedia|playlist|smil|asx)\b/i.test(typed))
    return 'clip-playlist';
  const riff = text.startsWith('RIFF') ? text.slice(8, 12) : '';
  const begins = (...magic: string[]) => magic.some((start) => text.startsWith(start));
  if (
    begins('\xff\xd8\xff', '\x89PNG', 'GIF8', 'BM', 'II*\0', 'MM\0*', '8BPS', '\0\0\0\x0cJXL ', '\xff\x0a') ||
    riff === 'WEBP'
  ) {
    return 'clip-image-or-audio-only';
  }
  if (/^<(\?xml|svg)/i.test(typed) && /<svg\b/i.test(typed)) return 'clip-image-or-audio-only';
  if (
    /^(ID3|fLaC|OggS|#!AMR|MThd|caff|\xff[\xfb\xf3\xf2\xfa\xf1\xf9])/.test(text) ||
    riff === 'WAVE' ||
    /^FORM....AIF/s.test(text)
  ) {
    return /theora/.test(text) ? 'clip-codec-unknown' : 'clip-image-or-audio-only';
  }
  if (begins('FLV\x01', '\0\0\x01\xba', '\0\0\x01\xb3', '0&\xb2u') || riff === 'AVI ') return 'clip-codec-unknown';
  if (text[0] === 'G' && text[188] === 'G' && text[376] === 'G') return 'clip-codec-unknown';
  return 'clip-not-video';
}

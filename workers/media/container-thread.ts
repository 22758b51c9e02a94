/** Worker thread that reads a container's tables with mediabunny. A table that lies can hang or kill it, and only it. */
import { type FileHandle, open } from 'node:fs/promises';
import { parentPort } from 'node:worker_threads';
import { CustomSource, EncodedPacketSink, Input, MATROSKA, MP4, QTFF, WEBM } from 'mediabunny';
import type { Packet, Tables } from './tables.ts';

/** What the thread is told: an absolute path, and where it may stop. */
export interface ThreadOrder {
  file: string;
  bytes: number;
  maxPackets: number;
  maxTimeS: number;
}

const names: Record<string, string> = { avc: 'h264' };

async function readTables(order: ThreadOrder): Promise<Tables> {
  const handle = await open(order.file, 'r');
  try {
    return await readFrom(handle, order);
  } finally {
    await handle.close();
  }
}

async function readFrom(handle: FileHandle, order: ThreadOrder): Promise<Tables> {
  using input = new Input({
    formats: [MP4, QTFF, MATROSKA, WEBM],
    source: new CustomSource({
      getSize: () => order.bytes,
      read: async (start, end) => {
        const length = Math.max(0, Math.min(end, order.bytes) - start);
        const { buffer, bytesRead } = await handle.read(Buffer.alloc(length), 0, length, start);
        return buffer.subarray(0, bytesRead);
      },
      prefetchProfile: 'fileSystem',
    }),
  });
  const track = await input.getPrimaryVideoTrack();
  const audio = await input.getPrimaryAudioTrack();
  if (!track)
    return {
      video: null,
      audioCodec: audio ? ((await audio.getCodec()) ?? 'unknown') : null,
      tags: {},
      packets: [],
      cutShort: false,
    };
  const codec = await track.getCodec();
  const packets: Packet[] = [];
  let cutShort = false;
  for await (const packet of new EncodedPacketSink(track).packets(undefined, undefined, { metadataOnly: true })) {
    packets.push({ timeS: packet.timestamp, durationS: packet.duration, bytes: packet.byteLength, isKey: packet.type === 'key' });
    cutShort = packets.length >= order.maxPackets || packet.timestamp > order.maxTimeS;
    if (cutShort) break;
  }
  return {
    video: {
      codec: codec ? (names[codec] ?? codec) : null,
      codedWidthPx: await track.getCodedWidth(),
      codedHeightPx: await track.getCodedHeight(),
      widthPx: await track.getDisplayWidth(),
      heightPx: await track.getDisplayHeight(),
      rotationDeg: await track.getRotation(),
    },
    audioCodec: audio ? ((await audio.getCodec()) ?? 'unknown') : null,
    tags: plainTags((await input.getMetadataTags()).raw ?? {}),
    packets,
    cutShort,
  };
}

/** The tags that tell of slow motion; a number may be stored as text or as a big-endian float (QuickTime type 23). */
function plainTags(raw: Record<string, unknown>): Record<string, string> {
  const tags: Record<string, string> = {};
  for (const [name, value] of Object.entries(raw)) {
    if (!/^com\.(android\.capture\.fps|apple\.quicktime\.full-frame-rate-playback-intent)$/.test(name)) continue;
    if (typeof value === 'string' || typeof value === 'number') tags[name] = String(value);
    else if (value instanceof Uint8Array && value.length === 4) tags[name] = String(Buffer.from(value).readFloatBE(0));
    else if (value instanceof Uint8Array && value.length > 0 && value.length <= 8) tags[name] = String(value[value.length - 1]);
  }
  return tags;
}

// a failure is not caught: it ends the thread, and whatever state it has come into with it
parentPort?.on('message', (order: ThreadOrder) => void readTables(order).then((tables) => parentPort?.postMessage(tables)));

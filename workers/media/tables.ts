import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { ClipError } from './clip-error.ts';
import type { ThreadOrder } from './container-thread.ts';
import { listPackets } from './list-packets.ts';

/** One packet of the video track. Times in seconds as stored (may start below or above 0). */
export interface Packet {
  timeS: number;
  durationS: number;
  bytes: number;
  isKey: boolean;
}

/** What a container's tables say. `video` is null without a video track; sizes in px; display size is upright and square. */
export interface Tables {
  video: {
    /** h264, hevc, vp8, vp9, av1, another name, or null when nobody knows it. */
    codec: string | null;
    codedWidthPx: number;
    codedHeightPx: number;
    widthPx: number;
    heightPx: number;
    /** Clockwise. */
    rotationDeg: number;
  } | null;
  audioCodec: string | null;
  tags: Record<string, string>;
  /** In decoding order. */
  packets: Packet[];
  /** True when reading stopped at a limit. */
  cutShort: boolean;
}

/** How long the thread may take before it is ended. Measured for a sound clip: 0.3 CPU-s, half of it starting the thread. */
const threadTimeoutMs = 5000;

/**
 * Reads the tables in a worker thread (128 MB, 5 s); when that dies or hangs, has ffmpeg list the packets.
 * @throws ClipError from ffmpeg when neither can read them; the signal's reason on abort
 */
export async function readTables(order: ThreadOrder & { maxPixels: number }, signal: AbortSignal): Promise<Tables> {
  try {
    return await inThread(order, signal);
  } catch (cause) {
    signal.throwIfAborted();
    const tables = await listPackets(order, signal);
    if (tables.packets.length < 2) throw new ClipError('clip-damaged', 'tables that cannot be read, one frame', { cause });
    return tables;
  }
}

function inThread(order: ThreadOrder, signal: AbortSignal): Promise<Tables> {
  const entry = fileURLToPath(new URL('./container-thread.ts', import.meta.url));
  // tsx's loader for import costs 0.25 CPU-s in a thread, and mediabunny's 100 modules through it 0.5; through require both are cheap
  const tsx = fileURLToPath(import.meta.resolve('tsx/cjs/api'));
  const start = `require(${JSON.stringify(tsx)}).register(); require(${JSON.stringify(entry)});`;
  const worker = new Worker(start, {
    eval: true,
    workerData: order,
    execArgv: [],
    env: {},
    resourceLimits: { maxOldGenerationSizeMb: 128, maxYoungGenerationSizeMb: 32 },
    stdout: true,
    stderr: true,
  });
  return new Promise<Tables>((done, fail) => {
    const end = (settle: () => void) => {
      clearTimeout(timer);
      signal.removeEventListener('abort', onAbort);
      settle();
      void worker.terminate();
    };
    const onAbort = () => end(() => fail(signal.reason));
    const timer = setTimeout(() => end(() => fail(new Error('reading the tables took over 5 s'))), threadTimeoutMs);
    signal.addEventListener('abort', onAbort, { once: true });
    if (signal.aborted) onAbort();
    worker.once('message', (tables: Tables) => end(() => done(tables)));
    worker.once('error', (cause) => end(() => fail(cause)));
    worker.once('exit', () => end(() => fail(new Error('the thread ended without an answer'))));
  });
}

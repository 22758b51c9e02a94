import { tmpdir } from 'node:os';
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

/** How long the thread may take before it is ended. Measured for a sound clip: 0.3 CPU-s, nearly all of it starting the thread. */
const threadTimeoutMs = 5000;
/** The thread that waits for the next file; one that failed or was stopped never waits again. */
let spare: Worker | null = null;

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

function startThread(): Worker {
  const entry = fileURLToPath(new URL('./container-thread.ts', import.meta.url));
  // tsx's loader for import costs 0.25 CPU-s in a thread, and mediabunny's 100 modules through it 0.5; through require both are cheap
  const tsx = fileURLToPath(import.meta.resolve('tsx/cjs/api'));
  const start = `require(${JSON.stringify(tsx)}).register(); require(${JSON.stringify(entry)});`;
  const worker = new Worker(start, {
    eval: true,
    execArgv: [],
    // tsx keeps no files, and looks for nothing outside the process's own folder
    env: { TSX_DISABLE_CACHE: '1', TMPDIR: tmpdir() },
    resourceLimits: { maxOldGenerationSizeMb: 128, maxYoungGenerationSizeMb: 32 },
    stdout: true,
    stderr: true,
  });
  worker.on('error', () => {});
  worker.once('exit', () => {
    if (spare === worker) spare = null;
  });
  return worker;
}

function inThread({ file, bytes, maxPackets, maxTimeS }: ThreadOrder, signal: AbortSignal): Promise<Tables> {
  signal.throwIfAborted();
  const worker = spare ?? startThread();
  spare = null;
  worker.ref();
  return new Promise<Tables>((done, fail) => {
    const end = (settle: () => void) => {
      clearTimeout(timer);
      signal.removeEventListener('abort', onAbort);
      worker.off('message', onTables).off('error', onError).off('exit', onExit);
      settle();
    };
    const stop = (reason: unknown) => {
      end(() => fail(reason));
      void worker.terminate();
    };
    const onTables = (tables: Tables) => {
      end(() => done(tables));
      worker.unref();
      // two clips at once need two threads, but only one is worth its memory
      if (spare === null) spare = worker;
      else void worker.terminate();
    };
    const onError = (cause: unknown) => stop(cause);
    const onExit = () => stop(new Error('the thread ended without an answer'));
    const onAbort = () => stop(signal.reason);
    const timer = setTimeout(() => stop(new Error('reading the tables took over 5 s')), threadTimeoutMs);
    signal.addEventListener('abort', onAbort, { once: true });
    worker.once('message', onTables).once('error', onError).once('exit', onExit);
    worker.postMessage({ file, bytes, maxPackets, maxTimeS } satisfies ThreadOrder);
  });
}

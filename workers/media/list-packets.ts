import { ClipError } from './clip-error.ts';
import { errorFrom, inputArgs, startFfmpeg } from './run-ffmpeg.ts';
import type { Packet, Tables } from './tables.ts';

/**
 * The second way to read a container: ffmpeg copies the video packets into a list (`-f framecrc`) and names stream, rotation and
 * tags on stderr. Reads every packet's bytes, so a table that lies ends where the file ends. `isKey` is true for the first only:
 * the list does not tell.
 * @throws ClipError
 */
export async function listPackets(
  order: { file: string; maxPackets: number; maxTimeS: number; maxPixels: number },
  signal: AbortSignal,
): Promise<Tables> {
  const input = inputArgs(order.file, order.maxPixels).map((arg) => (arg === 'repeat+error' ? 'repeat+info' : arg));
  const run = await startFfmpeg(
    [...input, '-map', '0:V:0', '-c', 'copy', '-f', 'framecrc', 'pipe:1'],
    { timeoutS: 5, maxMemoryMb: 512, maxOutBytes: 1 },
    signal,
  );
  let rest = '';
  let tickS = 0;
  let cutShort = false;
  const packets: Packet[] = [];
  const stop = new Error('enough packets');
  run.stdout.setEncoding('latin1').on('data', (chunk: string) => {
    const lines = (rest + chunk).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) {
      const base = /^#tb 0: (\d+)\/(\d+)/.exec(line);
      if (base) tickS = Number(base[1]) / Number(base[2]);
      const [stream, , pts, duration, bytes] = line.split(',').map((cell) => Number(cell));
      if (line.startsWith('#') || stream !== 0 || !Number.isFinite(pts)) continue;
      packets.push({ timeS: pts! * tickS, durationS: (duration ?? 0) * tickS, bytes: bytes ?? 0, isKey: packets.length === 0 });
    }
    cutShort = packets.length >= order.maxPackets || (packets.at(-1)?.timeS ?? 0) > order.maxTimeS;
    if (cutShort) run.stop(stop);
  });
  const gone = new Promise((done) => run.stdout.once('close', done));
  const { ok, said } = await run.ended.catch((cause: unknown) => {
    if (cause === stop) return { ok: true, said: '' };
    throw cause;
  });
  await gone;
  if (cutShort) return { video: null, audioCodec: null, tags: {}, packets, cutShort };
  if (!ok) throw errorFrom(said);
  return { ...fromText(said), packets, cutShort };
}

/** Reads `Stream #0:0(und): Video: h264 (High) (avc1 / 0x31637661), yuv420p, 1920x1080 [SAR 1:1 DAR 16:9], ...`. */
function fromText(said: string): Omit<Tables, 'packets' | 'cutShort'> {
  const input = said.split(/^Output #0/m)[0] ?? '';
  const stream = /^ *Stream #0:\d+.*: Video: (\w+).*?, (\d+)x(\d+)(?: \[SAR (\d+):(\d+))?/m.exec(input);
  const audioCodec = /^ *Stream #0:\d+.*: Audio: (\w+)/m.exec(input)?.[1] ?? null;
  if (!stream) throw new ClipError('clip-damaged', said.slice(-500));
  const [width, height] = [Number(stream[2]), Number(stream[3])];
  const aspect = stream[4] && Number(stream[4]) > 0 ? Number(stream[4]) / Number(stream[5]) : 1;
  // ffmpeg counts counter-clockwise
  const turn = Number(/displaymatrix: rotation of (-?[\d.]+) degrees/.exec(input)?.[1] ?? 0);
  const rotationDeg = ((Math.round(-turn / 90) * 90) % 360) + (Math.round(-turn / 90) < 0 ? 360 : 0);
  const square = aspect >= 1 ? [Math.round(width * aspect), height] : [width, Math.round(height / aspect)];
  const [widthPx, heightPx] = rotationDeg % 180 === 0 ? square : square.toReversed();
  const tags = Object.fromEntries(
    [...input.matchAll(/^ *(com\.(?:android|apple)\.[\w.-]+) *: (.*)$/gm)].map((hit) => [hit[1]!, hit[2]!]),
  );
  return {
    video: {
      codec: stream[1] ?? null,
      codedWidthPx: width,
      codedHeightPx: height,
      widthPx: widthPx!,
      heightPx: heightPx!,
      rotationDeg: rotationDeg % 360,
    },
    audioCodec,
    tags,
  };
}

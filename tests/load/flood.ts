import { fork } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { IncomingMessage } from '../../src/platforms/port.ts';
import { ownResidentMb } from '../../src/queue/process-memory.ts';
import { bundlePrograms } from '../faults/bundle.ts';
import { end } from '../faults/lane.ts';
import type { FromBot, Scene, ToBot } from '../faults/protocol.ts';
import { createRandom } from '../faults/random.ts';
import { createWorld } from '../faults/world.ts';

/** One clip of the flood: when it was posted, marked and answered, ms from the start; infinite when that never came. */
export interface FloodClip {
  by: string;
  postedMs: number;
  markedMs: number;
  answeredMs: number;
  replies: number;
}

export interface Flood {
  clips: FloodClip[];
  /** Resident memory of the bot's process in MB, measuring processes left out, with the time in ms from the start. */
  memory: { atMs: number; mb: number }[];
}

const memoryEveryMs = 250;
const members = 80;
const burst = 20; // clips that one member posts at once
const eager = 'odo';

export interface FloodOptions {
  /** Clips to post. */
  count: number;
  /** Watched channels, which take the clips in turn. */
  channels: number;
  /** Time over which they are posted, ms. */
  overMs: number;
  /** What the stand-in for measuring takes for a clip, ms. */
  measuringMs: number;
  /** How long the last answer may take after the last post, ms. */
  patienceMs: number;
  seed: number;
}

/**
 * Posts clips to the bot in a process of its own, with SQLite, the embedded queue of two processes and the stand-in for measuring. A fifth
 * comes from one member, in bursts of twenty; the rest evenly from eighty others. Ends when all are answered, or after the patience.
 */
export async function flood({ count, channels, overMs, measuringMs, patienceMs, seed }: FloodOptions): Promise<Flood> {
  const programs = await bundlePrograms();
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-load-'));
  const random = createRandom(seed);
  const world = createWorld({ faultShare: 0, mostFaults: 0 }, random);
  const clips: FloodClip[] = [];
  const memory: Flood['memory'] = [];
  const names = Array.from({ length: channels }, (_, i) => (i === 0 ? 'form-check' : `form-check-${i + 1}`));
  const scene: Scene = {
    channels: names,
    ...{ folder, databaseUrl: null, redisUrl: null, prefix: 'load', clipPort: null, measuring: programs.measuring },
    ...{ processes: 2, retryAfterMs: 2000, progressAfterS: 20, death: null },
  };
  const bot = fork(programs.bot, {
    execArgv: [],
    env: { PATH: process.env.PATH, SCENE: JSON.stringify(scene) },
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
  });
  const say = (message: ToBot) => void bot.send(message, () => {});
  let beganMs = performance.now();
  const clipOf = (message: string) => clips[Number(message) - 1];
  bot.on('message', (message: FromBot) => {
    if (message.kind !== 'call') return;
    const { n, name, args } = message;
    const outcome = world.ask(name, args);
    const nowMs = performance.now() - beganMs;
    if (name === 'setMarks') {
      const clip = clipOf((args[0] as IncomingMessage['ref']).message);
      if (clip !== undefined) clip.markedMs = Math.min(clip.markedMs, nowMs);
    } else if (name === 'post' && String(args[2]).startsWith('reply/')) {
      const clip = clipOf((args[0] as { message: IncomingMessage['ref'] }).message.message);
      if (clip !== undefined) clip.answeredMs = Math.min(clip.answeredMs, nowMs);
    }
    say('value' in outcome ? { kind: 'value', n, value: outcome.value } : { kind: 'error', n, ...outcome });
  });
  const watch = setInterval(() => {
    const mb = ownResidentMb(bot.pid ?? 0);
    if (mb !== null) memory.push({ atMs: performance.now() - beganMs, mb });
  }, memoryEveryMs);
  const post = (by: string) => {
    const id = String(clips.length + 1);
    const body = JSON.stringify({ outcome: random.pick(['clean', 'fix', 'unsure']), delayMs: measuringMs });
    world.bodies.set(`f${id}`, body);
    const channel = names[clips.length % names.length] ?? '';
    const message: IncomingMessage = {
      ref: { platform: 'room', channel, message: id, thread: null },
      threadStart: null,
      author: { platform: 'room', id: by, name: by, groups: [], isBot: false },
      text: 'Squat 100 kg x5',
      files: [{ id: `f${id}`, name: 'squat.mp4', contentType: 'video/mp4', bytes: body.length }],
      sentAtMs: Date.now(),
    };
    world.messages.push(message);
    const never = Number.POSITIVE_INFINITY;
    clips.push({ by, postedMs: performance.now() - beganMs, markedMs: never, answeredMs: never, replies: 0 });
    say({ kind: 'message', message });
  };
  try {
    while (!world.isWatched()) await wait(5);
    beganMs = performance.now();
    memory.length = 0;
    const bursts = Math.floor(count / 5 / burst);
    const singles = count - bursts * burst;
    for (let i = 0, burstsDone = 0; i < singles; i += 1) {
      await wait(Math.max(0, (overMs * i) / singles - (performance.now() - beganMs)));
      if (burstsDone < bursts && i >= ((burstsDone + 0.5) * singles) / bursts) {
        burstsDone += 1;
        for (let k = 0; k < burst; k += 1) post(eager);
      }
      post(`member-${i % members}`);
    }
    const untilMs = performance.now() + patienceMs;
    while (clips.some(({ answeredMs }) => answeredMs === Number.POSITIVE_INFINITY) && performance.now() < untilMs) await wait(50);
    await wait(500);
  } finally {
    clearInterval(watch);
    await end(bot);
    programs.remove();
    rmSync(folder, { recursive: true, force: true });
  }
  for (const { to, key } of world.posts) {
    const clip = key.startsWith('reply/') ? clipOf(to.message?.message ?? '') : undefined;
    if (clip !== undefined) clip.replies += 1;
  }
  return { clips, memory };
}

/** Clips of the eager member that were answered while another member's clip waited, for each clip of the others. */
export function overtakenBy(clips: readonly FloodClip[]): number[] {
  const eagerMs = clips.filter(({ by }) => by === eager).map(({ answeredMs }) => answeredMs);
  return clips
    .filter(({ by }) => by !== eager)
    .map(({ postedMs, answeredMs }) => eagerMs.filter((ms) => ms > postedMs && ms < answeredMs).length);
}

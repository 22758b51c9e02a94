import { type ChildProcess, fork } from 'node:child_process';
import { setTimeout as wait } from 'node:timers/promises';
import type { IncomingMessage } from '../../src/platforms/port.ts';
import type { Programs } from './bundle.ts';
import { childrenOf, end, type Lane } from './lane.ts';
import { type Proof, prove } from './proof.ts';
import type { ClipState, FromBot, Scene, ToBot } from './protocol.ts';
import { createRandom } from './random.ts';
import { type PlannedMessage, planRun } from './schedule.ts';
import { createWorld } from './world.ts';

/** A run is over when nothing has changed for this long and the bot has told its state this often meanwhile; a slow machine gets its time. */
const stillMs = 45_000; // above the longest wait that a run's few faults add up to, a worker host's fetch that hangs included
const stillAnswers = 200;
const longestMs = 300_000;
const quietMs = 150; // a double would come within this time of the last answer
const lookMs = 25;
const answerMs = 2000; // until the bot is asked again for its state

/** Why a process ended by itself: the message of the error, not the lines of the stack below it. */
function reasonIn(text: string): string {
  const lines = text.trim().split('\n');
  return lines.find((line) => /^(error nothing caught|(\w+)?Error\b)/.test(line)) ?? lines.at(-1) ?? '';
}

export interface RunResult extends Proof {
  seed: number;
  ms: number;
  /** What was killed, with the step it was killed at. */
  kills: string[];
  faults: ReadonlyMap<string, number>;
  /** What the bots said on standard error. */
  said: string;
}

/** Runs one schedule to its end and looks at what stands on the platform. */
export async function runOnce(seed: number, lane: Lane, programs: Programs, databaseUrl: string | null): Promise<RunResult> {
  const startMs = performance.now();
  const random = createRandom(seed);
  const schedule = planRun(random, lane.redisUrl !== null);
  const world = createWorld(schedule, random);
  const kills: string[] = [];
  const deaths = [...schedule.deaths];
  const over = new AbortController();
  let measuringDeaths = 0;
  let said = '';
  let saidBefore = 0;
  const crashes: string[] = [];
  let bot: ChildProcess | null = null;
  let connected = false;
  let asked = 0;
  const answers = new Map<number, (clips: ClipState[]) => void>();
  await lane.empty();

  const tell = (message: ToBot) => {
    if (bot?.connected) bot.send(message, () => {});
  };

  function startBot(): void {
    const scene: Scene = {
      ...{ folder: lane.folder, databaseUrl, redisUrl: lane.redisUrl, prefix: lane.prefix },
      ...{ measuring: programs.measuring, processes: 2, retryAfterMs: 20, progressAfterS: schedule.progressAfterS },
      clipPort: lane.redisUrl !== null && schedule.byAddress ? lane.clipPort : null,
      death: deaths.shift() ?? null,
    };
    const child = fork(programs.bot, {
      execArgv: [],
      env: { PATH: process.env.PATH, SCENE: JSON.stringify(scene) },
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    bot = child;
    child.stderr?.setEncoding('utf8').on('data', (text: string) => {
      said += text;
    });
    child.on('message', (message: FromBot) => {
      if (message.kind === 'state') return answers.get(message.n)?.(message.clips);
      const outcome = world.ask(message.name, message.args);
      const answer = () => {
        if (bot !== child) return;
        if (message.name === 'start' && 'value' in outcome) connected = true;
        const { n } = message;
        tell('value' in outcome ? { kind: 'value', n, value: outcome.value } : { kind: 'error', n, ...outcome });
      };
      if (outcome.delayMs === 0) answer();
      else setTimeout(answer, outcome.delayMs);
    });
    // 'close' comes when standard error is read to its end.
    child.once('close', () => {
      if (bot !== child) return;
      const died = /^died (.*)$/m.exec(said.slice(saidBefore))?.[1];
      if (died !== undefined) kills.push(`bot at ${died}`);
      if (child.exitCode !== null)
        crashes.push(`the bot ended by itself (${child.exitCode}): ${reasonIn(said.slice(saidBefore))}`);
      saidBefore = said.length;
      measuringDeaths += 1; // what was being measured is begun anew
      connected = false;
      bot = null;
      if (!over.signal.aborted) startBot();
    });
  }

  let beganMs = Number.POSITIVE_INFINITY;
  const untilMs = (atMs: number) => wait(Math.max(0, beganMs + atMs - performance.now()));
  const isOut = () => {
    const nowMs = performance.now() - beganMs; // negative without end before the first message
    return schedule.outages.some(({ fromMs, toMs }) => nowMs >= fromMs && nowMs < toMs);
  };
  const deliver = (message: IncomingMessage) => {
    if (!connected || isOut()) return false;
    tell({ kind: 'message', message });
    return true;
  };

  async function say(planned: PlannedMessage, m: number): Promise<void> {
    await untilMs(planned.atMs);
    const id = String(m + 1);
    const start =
      planned.reply === null
        ? null
        : { platform: 'room' as const, channel: 'form-check', message: String(planned.reply + 1), thread: null };
    const message: IncomingMessage = {
      ref: { platform: 'room', channel: 'form-check', message: id, thread: start?.message ?? null },
      threadStart: start,
      author: { platform: 'room', id: planned.by, name: planned.by, groups: [], isBot: false },
      text: 'Squat 100 kg x5',
      files: planned.clips.map((clip, c) => {
        const body = JSON.stringify(clip);
        world.bodies.set(`m${id}f${c}`, body);
        return { id: `m${id}f${c}`, name: 'squat.mp4', contentType: 'video/mp4', bytes: body.length };
      }),
      sentAtMs: Date.now(),
    };
    world.messages[m] = message;
    const { delivery } = planned;
    if (delivery.kind === 'late') {
      await wait(delivery.afterMs);
      while (!deliver(message)) await wait(lookMs);
      return;
    }
    deliver(message);
    if (delivery.kind === 'once') return;
    await wait(delivery.afterMs);
    deliver(message);
  }

  const downtimes: Promise<void>[] = [];
  async function strike(kill: (typeof schedule.kills)[number]): Promise<void> {
    while (world.calls() < kill.afterCalls) {
      if (over.signal.aborted) return;
      await wait(5);
    }
    await wait(kill.delayMs);
    if (over.signal.aborted) return;
    const { what, downMs } = kill;
    kills.push(`${what} after platform.${world.lastCall()}`);
    if (what === 'bot') return void bot?.kill('SIGKILL');
    measuringDeaths += 1;
    if (what === 'host') return lane.killHost(downMs);
    if (what === 'redis' || what === 'redis-emptied') return lane.killRedis(downMs, what === 'redis-emptied');
    const pid = lane.hostPid() ?? bot?.pid;
    for (const child of pid === undefined ? [] : childrenOf(pid).slice(0, 1)) process.kill(child, 'SIGKILL');
  }

  async function states(): Promise<ClipState[] | null> {
    asked += 1;
    const n = asked;
    const answer = new Promise<ClipState[]>((resolve) => void answers.set(n, resolve));
    tell({ kind: 'ask-state', n });
    const found = await Promise.race([answer, wait(answerMs).then(() => null)]);
    answers.delete(n);
    return found;
  }

  startBot();
  downtimes.push(...schedule.kills.map(strike));
  while (!world.isWatched() && performance.now() - startMs < longestMs) await wait(5);
  beganMs = performance.now();
  const reconnecting = schedule.outages.map(async ({ toMs }) => {
    await untilMs(toMs);
    if (connected) tell({ kind: 'gap' });
  });
  await Promise.all([...schedule.messages.map(say), ...reconnecting]);

  const clips = schedule.messages.reduce((sum, { clips: own }) => sum + own.length, 0);
  const isSettled = (found: ClipState[] | null) => found?.length === clips && found.every(({ state }) => state === 'answered');
  let last: ClipState[] = [];
  let changed = { atMs: performance.now(), answers: 0, as: '' };
  for (let told = 0; performance.now() - startMs < longestMs; await wait(lookMs)) {
    const found = connected ? await states() : null;
    last = found ?? last;
    if (isSettled(found)) break;
    told += found === null ? 0 : 1;
    const as = JSON.stringify([last, world.effects(), kills.length]);
    if (as !== changed.as) changed = { atMs: performance.now(), answers: told, as };
    if (performance.now() - changed.atMs > stillMs && told - changed.answers > stillAnswers) break;
  }
  over.abort();
  await Promise.all(downtimes);
  await wait(quietMs);
  const child = bot as ChildProcess | null;
  bot = null;
  if (child !== null) await end(child);
  const proof = prove(schedule, world, last, measuringDeaths);
  return {
    ...proof,
    lost: [...proof.lost, ...crashes, ...lane.hostEnds()],
    seed,
    ms: performance.now() - startMs,
    kills,
    faults: world.faults,
    said,
  };
}

import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { enter } from '../platforms/room/page-client.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** A process of the project with all that it said. */
export interface Running {
  readonly child: ChildProcess;
  output(): string;
  errors(): string;
  /** Its log so far, one object a line. */
  log(): Record<string, unknown>[];
  /** Waits for a log line; fails when the process ends before. */
  logged(message: string): Promise<Record<string, unknown>>;
  /** Sends the signal and gives exit code and milliseconds until the end. */
  end(signal: NodeJS.Signals): Promise<{ code: number | null; ms: number }>;
}

/** Starts a file of src with an environment of its own. */
export function startProcess(file: string, env: Record<string, string>): Running {
  const child = spawn(process.execPath, ['--import', 'tsx', join(root, file)], {
    cwd: root,
    env: { PATH: process.env.PATH ?? '', LOG_FORMAT: 'json', LOG_LEVEL: 'trace', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const said = { out: '', errors: '' };
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    said.out += text;
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    said.errors += text;
  });
  const lines = () => said.out.split('\n').slice(0, -1);
  const log = () =>
    lines()
      .filter((line) => line.startsWith('{'))
      .map((line) => JSON.parse(line) as Record<string, unknown>);
  return {
    child,
    output: () => said.out,
    errors: () => said.errors,
    log,
    async logged(message) {
      for (;;) {
        const found = log().find(({ msg }) => msg === message);
        if (found !== undefined) return found;
        if (child.exitCode !== null || child.signalCode !== null)
          throw new Error(`ended before "${message}": ${said.errors}\n${said.out}`);
        await wait(20);
      }
    },
    async end(signal) {
      const startMs = performance.now();
      const ended = child.exitCode === null && child.signalCode === null ? once(child, 'exit') : null;
      child.kill(signal);
      await ended;
      return { code: child.exitCode, ms: performance.now() - startMs };
    },
  };
}

/** Folders of one bot: `start` begins it anew on the same data. Ports are any free ones. */
export function createHome(settings = '', env: Record<string, string> = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-test-main-'));
  const config = join(folder, 'config');
  mkdirSync(config);
  const ports = 'room: { port: 0, serve: always }\noperator: { port: 0 }\nreplies: { retryAfterS: 0.1, progressAfterS: 600 }\n';
  writeFileSync(join(config, 'settings.yaml'), `${ports}${settings}`);
  const variables = { CONFIG_FOLDER: config, DATA_FOLDER: join(folder, 'data'), ...env };
  const started: Running[] = [];
  return {
    folder,
    config,
    variables,
    run(file: string, more: Record<string, string> = {}): Running {
      const running = startProcess(file, { ...variables, ...more });
      started.push(running);
      return running;
    },
    /** Starts the bot and enters the room as Juno. */
    async start() {
      const bot = this.run('src/main.ts');
      const { room, operator } = (await bot.logged('started')) as { room: string; operator: string };
      return { bot, room, operator, juno: await enter(room, 'juno') };
    },
    async close() {
      for (const running of started) await running.end('SIGKILL');
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** A clip of two seconds in which nobody is. */
export function makeClip(folder: string): Buffer {
  const path = join(folder, 'clip.mp4');
  const source = ['-f', 'lavfi', '-i', 'gradients=size=180x320:rate=30:duration=2:seed=3'];
  execFileSync('ffmpeg', ['-v', 'error', '-y', ...source, '-pix_fmt', 'yuv420p', path]);
  return readFileSync(path);
}

/** Waits until `find` finds something. */
export async function until<T>(what: string, find: () => Promise<T | undefined>): Promise<T> {
  for (let left = 2400; left > 0; left -= 1) {
    const found = await find();
    if (found !== undefined) return found;
    await wait(50);
  }
  throw new Error(`waited two minutes in vain for ${what}`);
}

/** Values of the metrics by name with labels. */
export async function metricsOf(operator: string): Promise<Map<string, number>> {
  const text = await (await fetch(`${operator}/metrics`)).text();
  const lines = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  return new Map(lines.map((line) => [line.slice(0, line.lastIndexOf(' ')), Number(line.slice(line.lastIndexOf(' ') + 1))]));
}

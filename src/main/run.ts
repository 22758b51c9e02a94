import type { Logger } from 'pino';
import { createLog } from '../logging/log.ts';
import { secretsOf } from '../settings/environment.ts';
import { adviceFor } from './advice.ts';
import { type Configuration, readConfiguration } from './project.ts';

const longestStopMs = 18_000; // a service manager kills after 20 s

/** A fault that has been told already. */
export class Refused extends Error {}

/**
 * Runs a process that lives until it is told to end: reads the configuration, logs, starts, and ends on SIGTERM or SIGINT; the second
 * signal, or 18 s, ends it at once. Exit code 0 after an orderly end, 1 after any fault, which is told in one plain line.
 */
export async function runProcess(
  name: string,
  start: (configuration: Configuration, log: Logger, end: (reason: string) => void) => Promise<{ stop(): Promise<void> }>,
): Promise<void> {
  let settings: Configuration['settings'] | null = null;
  const fail = (error: unknown): never => {
    const advice = settings === null ? null : adviceFor(error, settings);
    const said = `${error instanceof Error ? error.message : error}${advice === null ? '' : `. ${advice}`}`;
    if (!(error instanceof Refused)) console.error(`${name} cannot go on: ${said}`);
    process.exit(1);
  };
  try {
    const configuration = readConfiguration();
    settings = configuration.settings;
    const { environment } = configuration;
    const { logLevel: level, logFormat: format } = environment;
    const log = createLog({ level, format, secrets: secretsOf(environment), write: (line) => void process.stdout.write(line) });
    const stopping = { begun: false };
    let running: { stop(): Promise<void> } | null = null;
    const end = (reason: string, code: number) => {
      if (stopping.begun) process.exit(1);
      stopping.begun = true;
      log.info({ reason }, 'ending');
      setTimeout(() => {
        log.error({}, 'the end took too long');
        process.exit(1);
      }, longestStopMs).unref();
      Promise.resolve(running?.stop()).then(
        () => {
          log.info({}, 'ended');
          process.exit(code);
        },
        (error: unknown) => fail(error),
      );
    };
    for (const signal of ['SIGTERM', 'SIGINT'] as const) process.on(signal, () => end(signal, 0));
    for (const event of ['uncaughtException', 'unhandledRejection'] as const) {
      process.on(event, (error: unknown) => {
        log.fatal({ error: error instanceof Error ? error.stack : String(error) }, 'a fault that nothing caught');
        fail(error);
      });
    }
    running = await start(configuration, log, (reason) => end(reason, 1));
  } catch (error) {
    fail(error);
  }
}

import { setTimeout as sleep } from 'node:timers/promises';
import { SocketModeReceiver } from '@slack/bolt';
import { PlatformError } from '../port.ts';
import { clientOptions, libraryLog } from './api.ts';
import { toPlatformError } from './errors.ts';
import type { SlackLog, SlackOptions } from './options.ts';

type SocketClient = SocketModeReceiver['client'];

/** Chosen waits between attempts to connect again; the last repeats. Slack recycles connections every few hours: the first is at once. */
const waitsMs = [0, 1000, 2000, 5000, 10_000, 30_000];
/** Milliseconds for Slack's hello after the connection was asked for. Chosen. */
const helloMs = 15_000;

/** Bolt's receiver without its own way to connect again: that one waits 5 s at best and ends the process when Slack is away. */
export function socketReceiver(options: Pick<SlackOptions, 'apiUrl' | 'log'>, appToken: string): SocketModeReceiver {
  return new SocketModeReceiver({
    appToken,
    autoReconnectEnabled: false,
    logger: libraryLog(options.log),
    installerOptions: { clientOptions: clientOptions(options) },
  });
}

async function connectOnce(client: SocketClient, signal: AbortSignal): Promise<void> {
  const hello = AbortSignal.any([signal, AbortSignal.timeout(helloMs)]);
  hello.throwIfAborted();
  const starting = client.start();
  await new Promise<void>((resolve, reject) => {
    const stop = () => {
      client.disconnect().catch(() => undefined);
      reject(hello.reason);
    };
    hello.addEventListener('abort', stop, { once: true });
    starting
      .then(
        () => resolve(),
        (error) => reject(error ?? new Error('the connection was closed before the hello')),
      )
      .finally(() => hello.removeEventListener('abort', stop));
  });
}

/** A failed connection as the port's error: final where Slack does not take the app-level token. */
function lineFault(error: unknown): PlatformError {
  const fault = toPlatformError(error, 'SLACK_APP_TOKEN');
  if (fault.code !== 'forbidden') return fault;
  return new PlatformError(fault.code, fault.message, { final: true, retryAfterMs: null }, { cause: fault });
}

/**
 * Connects and stays connected until the signal aborts; after each loss of the line it connects again and calls `onLine` with null.
 * While it cannot, `onLine` hears why. Throws PlatformError when the first connection fails.
 */
export async function keepConnected(
  client: SocketClient,
  log: SlackLog,
  onLine: (fault: PlatformError | null) => void,
  signal: AbortSignal,
): Promise<void> {
  await connectOnce(client, signal).catch((error) => {
    throw signal.aborted ? error : lineFault(error);
  });
  let connecting = false;

  async function again(): Promise<void> {
    if (connecting || signal.aborted) return;
    connecting = true;
    let told = '';
    try {
      for (let attempt = 0; ; attempt++) {
        await sleep(waitsMs[Math.min(attempt, waitsMs.length - 1)], undefined, { signal });
        try {
          await connectOnce(client, signal);
          break;
        } catch (error) {
          if (signal.aborted) return;
          const fault = lineFault(error);
          onLine(fault);
          if (fault.message !== told) log.warn({ attempt, error: fault.message }, 'Slack could not be reached again yet');
          told = fault.message;
        }
      }
      log.info({}, 'the line to Slack is back');
      onLine(null);
    } catch (error) {
      if (!signal.aborted) log.error({ error: String(error) }, 'the line to Slack is lost');
    } finally {
      connecting = false;
    }
  }

  client.on('disconnected', () => {
    if (signal.aborted) return;
    log.info({}, 'the line to Slack broke');
    void again();
  });
}

import { open, rename } from 'node:fs/promises';
import { join } from 'node:path';
import type { Submission } from '../ledger/port.ts';
import { PlatformError } from '../platforms/port.ts';
import type { BotDeps } from './deps.ts';
import { isHostTrouble } from './host-trouble.ts';
import { backoffMs } from './loop.ts';

const mostTries = 15; // of a file that is there but never gets ready; with doubled waits most of an hour

type Deps = Pick<BotDeps, 'ledger' | 'platforms' | 'settings' | 'spool' | 'log' | 'nowMs' | 'random'>;

function errorCodeOf(error: PlatformError, s: Submission): string {
  if (error.code === 'forbidden') return 'clip-no-permission';
  return error.code === 'refused' && s.file.bytes === null ? 'clip-too-big' : 'clip-missing';
}

/** Gives a file that is complete its name once it is on the disk, so that a power cut leaves no empty clip. */
async function keep(part: string, path: string): Promise<void> {
  const file = await open(part, 'r+');
  try {
    await file.sync();
  } finally {
    await file.close();
  }
  await rename(part, path);
}

/** Copies a received clip into the spool: then it is `spooled`, or `failed` when it never will be, or tried again later. */
export async function fetchClip(s: Submission, deps: Deps, signal: AbortSignal): Promise<void> {
  const { ledger, platforms, settings, spool, log, nowMs, random } = deps;
  const { limits, retryAfterMs } = settings();
  const fail = (errorCode: string) => ledger.move(s.id, ['received'], 'failed', nowMs(), { errorCode });
  if (s.file.bytes !== null && s.file.bytes > limits.maxBytes) {
    await fail('clip-too-big');
    return;
  }
  const clipPath = join(spool, `${s.id}.clip`);
  try {
    const platform = platforms.find((one) => one.name === s.ref.platform);
    if (platform === undefined)
      throw new PlatformError('unreachable', `${s.ref.platform} is not set up`, { final: false, retryAfterMs: null });
    await platform.fetchFile(s.ref, s.file, `${clipPath}.part`, limits.maxBytes, signal);
    await keep(`${clipPath}.part`, clipPath);
  } catch (error) {
    if (signal.aborted) return;
    const known = error instanceof PlatformError ? error : null;
    const attempts = s.attempts + 1;
    log.warn({ id: s.id, code: known?.code, error: String(error), attempts }, 'a clip could not be fetched');
    if (known?.retry.final) return void (await fail(errorCodeOf(known, s)));
    const isHopeless = known === null ? !isHostTrouble(error) : known.code === 'not-ready';
    if (attempts >= mostTries && isHopeless) return void (await fail('clip-missing'));
    const notBeforeMs = nowMs() + backoffMs(known?.retry.retryAfterMs ?? null, retryAfterMs, attempts, random);
    await ledger.move(s.id, ['received'], 'received', nowMs(), { attempts, notBeforeMs });
    return;
  }
  await ledger.move(s.id, ['received'], 'spooled', nowMs(), { clipPath });
}

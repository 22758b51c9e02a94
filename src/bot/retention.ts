import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { BotDeps } from './deps.ts';
import { type Loop, startLoop } from './loop.ts';

const lookMs = 10 * 60_000;
const atOnce = 200;

/** What the bot may leave in the spool folder for one clip. */
const endings = ['clip', 'clip.part', 'cut.mp4', 'stills', 'sheet.png', 'placement.png', 'timeline.png'];

/** Removes a clip and all that was made of it from the spool folder. */
async function removeSpooled(spool: string, id: string): Promise<void> {
  for (const ending of endings) await rm(join(spool, `${id}.${ending}`), { recursive: true, force: true });
}

/** Deletes clips and their pictures once they have been answered for `retention.clipHours`; facts and verdict stay in the ledger. */
export function startRetention(
  { ledger, settings, spool, log, nowMs }: Pick<BotDeps, 'ledger' | 'settings' | 'spool' | 'log' | 'nowMs'>,
  signal: AbortSignal,
): Loop {
  return startLoop(
    async () => {
      const ids = await ledger.spooledUntil(nowMs() - settings().clipHours * 3_600_000, atOnce);
      for (const id of ids) {
        if (signal.aborted) return null;
        await removeSpooled(spool, id);
        await ledger.forgetFiles(id, nowMs());
      }
      if (ids.length > 0) log.info({ clips: ids.length }, 'clips that were answered long ago were deleted');
      return ids.length === atOnce ? 0 : lookMs;
    },
    (error) => log.error({ error: String(error) }, 'old clips could not be deleted'),
    signal,
  );
}

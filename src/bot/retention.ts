import { readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { BotDeps } from './deps.ts';
import { type Loop, startLoop } from './loop.ts';

const lookMs = 10 * 60_000; // chosen: small beside the hours and days that are set
const atOnce = 200; // chosen: no query holds the ledger up for long
const hourMs = 3_600_000;

/** What the bot may leave in the spool folder for one clip. */
const endings = [
  'clip',
  'clip.part',
  'clip.part.part',
  'cut.mp4',
  'stills',
  'sheet.png',
  'placement.png',
  'timeline.png',
  'speeds.png',
];

/** Removes a clip and all that was made of it from the spool folder. */
export async function removeSpooled(spool: string, id: string): Promise<void> {
  for (const ending of endings) await rm(join(spool, `${id}.${ending}`), { recursive: true, force: true });
}

type Deps = Pick<BotDeps, 'ledger' | 'settings' | 'spool' | 'log' | 'nowMs'>;

/**
 * Removes what a killed bot left behind in the spool folder: parts of clips that were being fetched, and everything of clips that the ledger
 * does not know (any more). For the start only, while nothing is fetched. Never throws: what cannot be removed is told.
 */
export async function sweepSpool({ ledger, spool, log }: Pick<Deps, 'ledger' | 'spool' | 'log'>): Promise<void> {
  try {
    const forgotten = new Map<string, boolean>();
    let removed = 0;
    for (const name of await readdir(spool)) {
      const ending = endings.find((one) => name.endsWith(`.${one}`));
      if (ending === undefined) continue;
      const id = name.slice(0, -ending.length - 1);
      if (!forgotten.has(id)) forgotten.set(id, (await ledger.submission(id)) === null);
      if (!name.endsWith('.part') && !forgotten.get(id)) continue;
      await rm(join(spool, name), { recursive: true, force: true });
      removed += 1;
    }
    if (removed > 0) log.info({ files: removed }, 'what an earlier run left behind was deleted');
  } catch (error) {
    log.warn({ error: String(error) }, 'what an earlier run left behind could not be deleted');
  }
}

/**
 * Deletes clips and their pictures once they have been answered for `retention.clipHours`, and everything else that is kept of them once
 * it has been `retention.factsDays`.
 */
export function startRetention(deps: Deps, signal: AbortSignal): Loop {
  const { ledger, settings, spool, log, nowMs } = deps;

  /** True when there may be more to do at once. */
  async function deleteClips(): Promise<boolean> {
    const { clipHours, factsDays } = settings();
    const hours = Math.min(clipHours, factsDays === null ? clipHours : factsDays * 24);
    const ids = await ledger.spooledUntil(nowMs() - hours * hourMs, atOnce);
    for (const id of ids) {
      if (signal.aborted) return false;
      await removeSpooled(spool, id);
      await ledger.forgetFiles(id, nowMs());
    }
    if (ids.length > 0) log.info({ clips: ids.length }, 'clips that were answered long ago were deleted');
    return ids.length === atOnce;
  }

  async function deleteFacts(): Promise<boolean> {
    const { factsDays } = settings();
    if (factsDays === null || signal.aborted) return false;
    const ids = await ledger.forget(nowMs() - factsDays * 24 * hourMs, atOnce);
    if (ids.length > 0) log.info({ submissions: ids.length }, 'all that was kept of clips answered long ago was deleted');
    return ids.length === atOnce;
  }

  /** Pictures of members' histories belong to no clip; they are drawn anew each time. */
  async function deleteCharts(): Promise<void> {
    const charts = (await readdir(spool).catch(() => [])).filter((name) => name.startsWith('history-'));
    for (const name of charts) {
      const found = await stat(join(spool, name)).catch(() => null);
      if (found !== null && found.mtimeMs <= nowMs() - settings().clipHours * hourMs)
        await rm(join(spool, name), { force: true });
    }
  }

  return startLoop(
    async () => {
      await deleteCharts();
      const more = [await deleteClips(), await deleteFacts()];
      return more.includes(true) ? 0 : lookMs;
    },
    (error) => log.error({ error: String(error) }, 'what is old could not be deleted'),
    signal,
  );
}

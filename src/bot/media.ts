import { mkdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Facts, Moment } from '../facts/facts.ts';
import { uprightTurnDeg } from '../facts/upright.ts';
import type { Judgement } from '../judge/judgement.ts';
import type { Submission } from '../ledger/port.ts';
import type { Still } from '../pictures/contact-sheet.ts';
import { picturesThatHelp } from '../pictures/that-help.ts';
import type { OutgoingFile } from '../platforms/port.ts';
import type { BotDeps, BotSettings } from './deps.ts';

/** What making pictures and cuts needs: a folder to write to (`spool`), a worker, and the limits of a clip. */
type Deps = Pick<BotDeps, 'runTask' | 'draw' | 'spool' | 'log'> & { settings(): Pick<BotSettings, 'limits'> };
/** A clip with the id that its files are named by. */
type Clip = Pick<Submission, 'id' | 'clipPath'>;

const mostStills = 60; // of one task, see src/queue/payload.ts

/** Width and height in px of a JPEG from its frame header (ITU-T T.81, B.2.2); null when there is none. */
function jpegSize(jpeg: Buffer): { widthPx: number; heightPx: number } | null {
  for (let at = 2; at + 9 <= jpeg.length && jpeg[at] === 0xff; at += 2 + jpeg.readUInt16BE(at + 2)) {
    const marker = jpeg[at + 1] ?? 0;
    const isFrame = marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
    if (isFrame) return { heightPx: jpeg.readUInt16BE(at + 5), widthPx: jpeg.readUInt16BE(at + 7) };
  }
  return null;
}

/** Writes [startS, endS] of the clip, upright and at most `maxBytes`, next to it; null when that fails, and the answer goes without. */
export async function cutClip(
  s: Clip,
  facts: Facts,
  part: { startS: number; endS: number },
  maxBytes: number,
  deps: Deps,
  signal: AbortSignal,
): Promise<string | null> {
  if (s.clipPath === null) return null;
  const out = join(deps.spool, `${s.id}.cut.mp4`);
  const limits = deps.settings().limits;
  const answer = await deps.runTask(
    { kind: 'cut', id: s.id, file: s.clipPath, out, ...part, turnDeg: uprightTurnDeg(facts), maxBytes, limits },
    signal,
  );
  if (answer.kind === 'written' && answer.bytes <= maxBytes) return out;
  deps.log.warn({ id: s.id, answer: answer.kind === 'failed' ? answer.code : answer.kind }, 'a clip could not be cut');
  return null;
}

/** Start, turn and lockout of each rep, in the clip's time. The turn of a press or deadlift is its lockout. */
function momentsOf(facts: Facts, lift: Judgement['lift']): { rep: number; moment: Moment; timeS: number }[] {
  if (!facts.reps.known) return [];
  const upFirst = lift === 'press' || lift === 'deadlift';
  return facts.reps.value.flatMap(({ startS, turnS, endS }, i) => [
    { rep: i + 1, moment: 'start' as const, timeS: startS },
    ...(upFirst ? [] : [{ rep: i + 1, moment: 'turn' as const, timeS: turnS }]),
    { rep: i + 1, moment: 'lockout' as const, timeS: upFirst ? turnS : endS },
  ]);
}

/** The contact sheet as a file to post; null when there are no reps or stills. */
export async function sheetOf(
  s: Clip,
  facts: Facts,
  judgement: Judgement,
  deps: Deps,
  signal: AbortSignal,
): Promise<OutgoingFile | null> {
  const moments = momentsOf(facts, judgement.lift).slice(0, mostStills);
  if (moments.length === 0 || s.clipPath === null) return null;
  const out = join(deps.spool, `${s.id}.stills`);
  await rm(out, { recursive: true, force: true });
  await mkdir(out, { recursive: true });
  try {
    const timesS = moments.map(({ timeS }) => timeS);
    const limits = deps.settings().limits;
    const answer = await deps.runTask(
      { kind: 'stills', id: s.id, file: s.clipPath, out, timesS, turnDeg: uprightTurnDeg(facts), limits },
      signal,
    );
    if (answer.kind !== 'written') {
      deps.log.warn({ id: s.id, answer: answer.kind === 'failed' ? answer.code : answer.kind }, 'no stills of a clip');
      return null;
    }
    const stills: Still[] = [];
    for (const [i, { rep, moment }] of moments.entries()) {
      const jpeg = await readFile(join(out, `${String(i).padStart(3, '0')}.jpg`)).catch(() => null);
      const size = jpeg === null ? null : jpegSize(jpeg);
      if (jpeg !== null && size !== null) stills.push({ jpeg, ...size, rep, moment });
    }
    if (stills.length === 0) return null;
    const { png, alt } = deps.draw.sheet(stills, judgement.lift);
    const path = join(deps.spool, `${s.id}.sheet.png`);
    await writeFile(path, png);
    return { path, name: 'reps.png', alt };
  } finally {
    await rm(out, { recursive: true, force: true });
  }
}

/** The pictures that help with these findings: where to stand, what to trim. One that cannot be drawn is left out. */
export async function picturesOf(s: Clip, facts: Facts, judgement: Judgement, deps: Deps): Promise<OutgoingFile[]> {
  const files: OutgoingFile[] = [];
  for (const name of picturesThatHelp(judgement, facts)) {
    try {
      const { png, alt } = deps.draw[name](judgement, facts);
      const path = join(deps.spool, `${s.id}.${name}.png`);
      await writeFile(path, png);
      files.push({ path, name: `${name}.png`, alt });
    } catch (error) {
      deps.log.error({ id: s.id, picture: name, error: String(error) }, 'a picture could not be drawn');
    }
  }
  return files;
}

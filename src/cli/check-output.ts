import { mkdir, writeFile } from 'node:fs/promises';
import { basename, extname, join, resolve } from 'node:path';
import type { BotDeps } from '../bot/deps.ts';
import type { Facts } from '../facts/facts.ts';
import { uprightTurnDeg } from '../facts/upright.ts';
import type { Judgement } from '../judge/judgement.ts';
import { picturesThatHelp } from '../pictures/that-help.ts';
import type { ClipLimits, Task } from '../queue/payload.ts';
import type { FinalAnswer } from '../queue/port.ts';

/** The largest file that is small enough to post everywhere, bytes: 10 MiB (Discord docs, reference, uploading files). */
const mostTrimmedBytes = 10 * 1024 * 1024;
const longestName = 60;
const pictureNames = { placement: 'camera-placement', timeline: 'clip-timeline' } as const;

/**
 * A name from the clip's that is safe on every file system: letters, digits, dots, dashes and underscores, never starting with a dot or
 * a dash, at most 60 characters, and unlike those in `taken` (also where case does not count), to which it is added.
 */
export function outputName(file: string, taken: Set<string>): string {
  const plain = basename(file, extname(file))
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}._-]+/gu, '-');
  const short = [...plain].slice(0, longestName).join('');
  const base = short.replace(/^[-.]+|[-.]+$/g, '') || 'clip';
  let name = base;
  for (let n = 2; taken.has(name.toLowerCase()); n++) name = `${base}-${n}`;
  taken.add(name.toLowerCase());
  return name;
}

/** What was written for one clip; `failed` is the code of a trim that did not work. */
interface Written {
  pictures: { path: string; alt: string }[];
  trimmed?: { path: string; startS: number; endS: number };
  failed?: string;
}

/** Writes the pictures that help with a judgement, and the trimmed clip where dead time was found, into a folder. Rejects when it cannot be written to. */
export async function writeOutput(
  { file, name, facts, judgement }: { file: string; name: string; facts: Facts; judgement: Judgement },
  folder: string,
  { run, limits, draw }: { run(task: Task): Promise<FinalAnswer>; limits: ClipLimits; draw: BotDeps['draw'] },
): Promise<Written> {
  await mkdir(folder, { recursive: true });
  const pictures: Written['pictures'] = [];
  for (const picture of picturesThatHelp(judgement, facts)) {
    const { png, alt } = draw[picture](judgement, facts);
    const path = resolve(folder, `${name}.${pictureNames[picture]}.png`);
    await writeFile(path, png);
    pictures.push({ path, alt });
  }
  if (judgement.trim === null) return { pictures };
  const path = resolve(join(folder, `${name}.trimmed.mp4`));
  const { startS, endS } = judgement.trim;
  const order = { startS, endS, turnDeg: uprightTurnDeg(facts), maxBytes: mostTrimmedBytes, limits } as const;
  const answer = await run({ kind: 'cut', id: file, file: resolve(file), out: path, ...order });
  if (answer.kind === 'written') return { pictures, trimmed: { path, startS, endS } };
  return { pictures, failed: answer.kind === 'failed' ? answer.code : answer.kind };
}

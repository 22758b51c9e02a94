import { createHash } from 'node:crypto';
import { rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { OutgoingFile, Person } from '../../../platforms/port.ts';
import type { BotDeps } from '../../deps.ts';

/** Short name of some content, safe as part of a file name. */
export const nameFor = (content: string | Buffer) => createHash('sha256').update(content).digest('hex').slice(0, 20);

/** Name of the picture of a member's history in the spool folder, without a way back to the member. */
export const chartName = ({ platform, id }: Pick<Person, 'platform' | 'id'>) => `history-${nameFor(`${platform}/${id}`)}`;

/** A drawn picture as a file in the spool folder: whoever reads it under `name` never sees half of it. */
export async function pictureFile(
  { png, alt }: { png: Buffer; alt: string },
  name: string,
  shownAs: string,
  { spool, random }: Pick<BotDeps, 'spool' | 'random'>,
): Promise<OutgoingFile> {
  const path = join(spool, `${name}.png`);
  const part = `${path}.${String(random()).slice(2)}.part`;
  await writeFile(part, png);
  await rename(part, path);
  return { path, name: shownAs, alt };
}

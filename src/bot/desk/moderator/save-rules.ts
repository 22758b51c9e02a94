import { rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { privately, type UseCase } from '../use-case.ts';
import { wordsFor } from './propose.ts';

/** Gives the rules in force as a YAML file. */
export const saveRules: UseCase = {
  id: 'rules-save',
  who: 'moderator',
  async run(ask) {
    const { version, text } = ask.deps.rules.inForce();
    const path = join(ask.deps.spool, 'rules.yaml');
    const part = `${path}.${String(ask.deps.random()).slice(2)}.part`;
    await writeFile(part, text);
    await rename(part, path); // whoever reads it never sees half of it
    return privately(wordsFor(ask).saved(version), { files: [{ path, name: `rules-${version}.yaml`, alt: null }] });
  },
};

import type { Migration } from 'kysely';
import type { Engine } from '../tables.ts';
import { first } from './0001-first.ts';
import { desks } from './0002-desks.ts';
import { proposals } from './0003-proposals.ts';

/** All migrations in order; a released one never changes. */
export function migrationsFor(engine: Engine): Record<string, Migration> {
  return { '0001-first': first(engine), '0002-desks': desks(engine), '0003-proposals': proposals(engine) };
}

import { backUpLedger } from '../ledger/backup.ts';
import { ledgerPlaceOf } from '../main/preflight.ts';
import { readConfiguration } from '../main/project.ts';

/** Copies the ledger into a new file; the bot may run meanwhile. Exit code 1 when that cannot be done, 2 for wrong usage. */
const [to, ...more] = process.argv.slice(2);
if (to === undefined || to.startsWith('-') || more.length > 0) {
  console.error('backup FILE\n  FILE  a new file for the copy of the ledger');
  process.exit(2);
}
try {
  const place = ledgerPlaceOf(readConfiguration());
  if ('databaseUrl' in place)
    throw new Error(
      `DATABASE_URL is set, so the ledger is in PostgreSQL: use pg_dump --format=custom --file=${to} "$DATABASE_URL" (deploy/upkeep.md)`,
    );
  const { bytes, submissions } = await backUpLedger(place.file, to);
  console.log(`${to}: ${submissions} clips, ${(bytes / 1e6).toFixed(1)} MB`);
} catch (error) {
  console.error(`no backup was made: ${error instanceof Error ? error.message : error}`);
  process.exit(1);
}

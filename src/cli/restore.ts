import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { restoreLedger } from '../ledger/backup.ts';
import { AlreadyRunning, type Lock, lockFolder } from '../ledger/lock.ts';
import { ledgerPlaceOf } from '../main/preflight.ts';
import { readConfiguration } from '../main/project.ts';

/** Puts a backup in the place of the ledger; refused while a bot runs. Exit code 1 when that cannot be done, 2 for wrong usage. */
const [from, ...more] = process.argv.slice(2);
if (from === undefined || from.startsWith('-') || more.length > 0) {
  console.error('restore FILE\n  FILE  a copy of the ledger that backup made');
  process.exit(2);
}
let lock: Lock | null = null;
try {
  const configuration = readConfiguration();
  const place = ledgerPlaceOf(configuration);
  if ('databaseUrl' in place)
    throw new Error(
      `DATABASE_URL is set, so the ledger is in PostgreSQL: stop the bot, then use pg_restore --clean --if-exists --no-owner --single-transaction --dbname="$DATABASE_URL" ${from} (deploy/upkeep.md)`,
    );
  mkdirSync(configuration.dataFolder, { recursive: true });
  lock = lockFolder(join(configuration.dataFolder, 'lock'), 0);
  const aside = `${place.file}.replaced-${new Date().toISOString().replace(/[:.]/g, '-')}`;
  const { submissions, fetchedAgain } = restoreLedger(from, place.file, aside);
  console.log(`${place.file}: ${submissions} clips, ${fetchedAgain} of them are fetched again`);
  console.log(`what was there before, if anything, is ${aside}: delete it when you no longer need it`);
} catch (error) {
  const said = error instanceof Error ? error.message : error;
  const text = error instanceof AlreadyRunning ? `${said}: stop it first` : said;
  console.error(`nothing was restored: ${text}`);
  process.exitCode = 1;
} finally {
  await lock?.release();
}

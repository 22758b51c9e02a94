import { createLog } from '../logging/log.ts';
import { chatPlatforms } from '../main/platforms.ts';
import { preflight } from '../main/preflight.ts';
import { readConfiguration } from '../main/project.ts';
import { preflightTable } from '../preflight/table.ts';
import { secretsOf } from '../settings/environment.ts';

/** Checks all that the bot needs and prints the table; may run beside a live bot. Exit code 1 when something needed is missing. */
try {
  const configuration = readConfiguration();
  const { environment } = configuration;
  const log = createLog({
    level: 'warn',
    format: 'plain',
    secrets: secretsOf(environment),
    write: (line) => void process.stderr.write(line),
  });
  const rows = await preflight(configuration, await chatPlatforms(configuration, log));
  console.log(preflightTable(rows));
  process.exit(rows.some(({ ok, must }) => must && !ok) ? 1 : 0);
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
  process.exit(1);
}

import { startApp } from './main/app.ts';
import { chatPlatforms } from './main/platforms.ts';
import { preflight } from './main/preflight.ts';
import { Refused, runProcess } from './main/run.ts';
import { preflightTable } from './preflight/table.ts';

await runProcess('quarterview', async (configuration, log, end) => {
  const { production, logFormat } = configuration.environment;
  const rows = await preflight(configuration, await chatPlatforms(configuration, log));
  if (logFormat === 'plain') console.log(preflightTable(rows));
  else
    for (const { what, ok, found, fix, must } of rows)
      log[ok ? 'info' : must ? 'error' : 'warn']({ what, found, fix }, 'preflight');
  const missing = rows.filter(({ ok, must }) => must && !ok);
  if (production && missing.length > 0) {
    for (const { what, found, fix } of missing) console.error(`quarterview cannot start: ${what}: ${found}. ${fix}`);
    throw new Refused();
  }
  const app = await startApp(configuration, log, () => end('another bot has the ledger'));
  if (logFormat === 'plain' && app.roomAddress !== null) console.log(`\nThe room is open: ${app.roomAddress}\n`);
  log.info({ room: app.roomAddress, operator: app.operatorAddress }, 'started');
  return app;
});

import { join } from 'node:path';
import type { LedgerPlace } from '../ledger/open.ts';
import type { Platform } from '../platforms/port.ts';
import { folderRows, measuringRows, nodeRow } from '../preflight/host.ts';
import { type CheckedRow, row } from '../preflight/row.ts';
import { databaseRow, redisRow } from '../preflight/services.ts';
import { type Configuration, projectPath, workerVariables } from './project.ts';

/** Where the ledger is. */
export function ledgerPlaceOf({ environment, dataFolder }: Configuration): LedgerPlace {
  return environment.databaseUrl === null
    ? { file: join(dataFolder, 'ledger.sqlite') }
    : { databaseUrl: environment.databaseUrl };
}

/** Checks all that the bot needs, without changing anything. `platforms` need not be started. */
export async function preflight(configuration: Configuration, platforms: readonly Platform[]): Promise<CheckedRow[]> {
  const { environment, dataFolder } = configuration;
  const variables = { PATH: process.env.PATH ?? '', ...workerVariables(environment) };
  const folder = folderRows('data folder', dataFolder);
  const asked = await Promise.all([
    measuringRows(projectPath('workers/self-check.ts'), variables),
    databaseRow(ledgerPlaceOf(configuration)).then((one) => [one]),
    ...(environment.redisUrl === null ? [] : [redisRow(environment.redisUrl).then((one) => [one])]),
    ...platforms.map(platformRows),
  ]);
  return [nodeRow(process.versions.node), ...folder, ...asked.flat(), ...settingsRows(configuration)];
}

/** An adapter's rows. One channel that is shut is no reason to leave the others alone; a token that is refused is. */
async function platformRows(platform: Platform): Promise<CheckedRow[]> {
  const rows = await platform.preflight();
  return rows.map((one) => ({ ...one, must: !one.what.includes('channel') }));
}

/** What the settings say that cannot be meant. */
function settingsRows({ environment, settings }: Configuration): CheckedRow[] {
  const rows: CheckedRow[] = [];
  const idle = (name: string, channels: readonly string[], variable: string, isSet: boolean) => {
    if (channels.length > 0 && !isSet)
      rows.push(
        row(`${name}: token`, false, 'none, though channels are named', `Set ${variable}, or take the channels out.`, false),
      );
  };
  idle('Discord', settings.discord.channels, 'DISCORD_TOKEN', environment.discordToken !== null);
  idle('Slack', settings.slack.channels, 'SLACK_BOT_TOKEN', environment.slack !== null);
  if (environment.slack !== null && settings.slack.channels.length === 0)
    rows.push(row('Slack: watched channels', false, 'none', 'Name a channel under slack.channels in settings.yaml.', false));
  if (environment.redisUrl !== null && settings.queue.clipsBy === 'address' && environment.publicUrl === null) {
    const fix = 'Set PUBLIC_URL to the address at which workers reach the bot, or use queue.clipsBy: folder.';
    rows.push(row('clips for workers', false, 'PUBLIC_URL is not set: only workers on this host reach the bot', fix, false));
  }
  return rows;
}

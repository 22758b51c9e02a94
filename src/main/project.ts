import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { loadEnvFile } from 'node:process';
import { fileURLToPath } from 'node:url';
import type { RulesSettings } from '../rules/settings.ts';
import { type Environment, readEnvironment } from '../settings/environment.ts';
import { loadSettings, parseRules, parseSettings } from '../settings/load.ts';
import type { SettingsFile } from '../settings/schema.ts';
import { SettingsError } from '../settings/settings-error.ts';

/** Absolute path of a file of the project. */
export const projectPath = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));

/** What the bot goes by. `rulesText` is the rules file as written, empty when there is none. */
export interface Configuration {
  environment: Environment;
  settings: SettingsFile;
  rules: RulesSettings;
  rulesText: string;
  /** Absolute. */
  dataFolder: string;
}

/** Reads `.env` of the project when it is there (what is set already stays), the environment and both files. Throws SettingsError. */
export function readConfiguration(): Configuration {
  const dotEnv = projectPath('.env');
  if (existsSync(dotEnv)) loadEnvFile(dotEnv);
  const environment = readEnvironment(process.env);
  const folder = environment.configFolder === null ? projectPath('config') : resolve(environment.configFolder);
  if (!existsSync(folder)) {
    const fix = 'Make the folder and copy config/ into it, or correct CONFIG_FOLDER';
    throw new SettingsError('environment', [{ path: 'CONFIG_FOLDER', problem: `there is no folder ${folder}`, fix }]);
  }
  const [settingsFile, rulesFile] = [join(folder, 'settings.yaml'), join(folder, 'rules.yaml')];
  const settings = existsSync(settingsFile) ? loadSettings(settingsFile) : parseSettings('', settingsFile);
  const rulesText = existsSync(rulesFile) ? readFileSync(rulesFile, 'utf8') : '';
  const dataFolder = resolve(environment.dataFolder ?? projectPath('data'));
  return { environment, settings, rules: parseRules(rulesText, rulesFile), rulesText, dataFolder };
}

/** What measuring processes get besides PATH and locale. */
export const workerVariables = ({ ffmpegPath }: Environment): Record<string, string> =>
  ffmpegPath === null ? {} : { FFMPEG_PATH: ffmpegPath };

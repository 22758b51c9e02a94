import { mkdirSync } from 'node:fs';
import { styleText } from 'node:util';
import { language } from '../main/words.ts';
import { setRecordOf } from '../record/set-record.ts';
import { loadRules, loadSettings } from '../settings/load.ts';
import { clock } from '../wording/numbers.ts';
import { wordSpeed } from '../wording/record.ts';
import { checkArguments, checkUsage } from './check-arguments.ts';
import { checkClip } from './check-clip.ts';
import { outputName } from './check-output.ts';
import type { CheckResult } from './check-result.ts';
import { measuringPool, projectPath } from './measured-clips.ts';
import { progressLine } from './progress-line.ts';

/** A name on one line, whatever is in it. */
const shown = (file: string) => (/\p{Cc}/u.test(file) ? JSON.stringify(file) : file);

const bold = (text: string) =>
  text.replace(/\*\*(.+?)\*\*/g, (_, inner: string) => (process.stdout.isTTY ? styleText('bold', inner) : inner));

/** The reply for people, with the paths of what was written. */
function asText(result: CheckResult): string {
  if ('error' in result) return `${shown(result.file)}\n${result.error.message} (${result.error.code})\n`;
  const { file, lift, reply, trimmed, facts } = result;
  const isTold = lift !== null && lift !== 'other' && facts.reps.known;
  const speed = isTold ? [wordSpeed(setRecordOf(facts, { lift, statureM: null }), language, 'member').text] : [];
  const pictures = reply.pictures.map(({ path, alt }) => `Picture: ${path}\n  ${alt}`);
  const cut = trimmed === undefined ? [] : [`Trimmed: ${trimmed.path} (${clock(trimmed.startS)}–${clock(trimmed.endS)})`];
  return `${[shown(file), bold(reply.text), ...speed, ...pictures, ...cut].join('\n')}\n`;
}

/** What the command was asked, with the files that it names read. Throws when it cannot be done as asked. */
function readOrder() {
  const { rules, ...asked } = checkArguments(process.argv.slice(2));
  const settings = loadRules(rules ?? projectPath('config/rules.yaml'));
  const { unitWhenSilent } = loadSettings(projectPath('config/settings.yaml')).captions;
  if (asked.out !== undefined) mkdirSync(asked.out, { recursive: true });
  return { ...asked, rules: settings, unitWhenSilent };
}

/** Checks the files one after the other in one process, so that the models are loaded once; gives the exit code. */
async function checkAll({ files, json, ...asked }: ReturnType<typeof readOrder>): Promise<number> {
  const measuring = measuringPool(1);
  const line = progressLine(process.stderr);
  const end = (code: number) => {
    line.clear();
    void measuring.pool.close();
    process.exit(code);
  };
  process.once('SIGINT', () => end(130)).once('SIGTERM', () => end(143)); // 128 + the signal's number, as shells do
  process.stdout.on('error', () => end(0)); // the reader has seen enough
  const names = new Set<string>();
  let exitCode = 0;
  try {
    for (const [i, file] of files.entries()) {
      const warn = (text: string) => {
        line.clear();
        console.error(`${shown(file)}: ${text}`);
      };
      const at = files.length === 1 ? '' : `${i + 1}/${files.length} `;
      const onProgress = (share: number) => line.show(`${at}${shown(file)} ${Math.floor(100 * share)} %`);
      const result = await checkClip(file, outputName(file, names), { ...asked, warn }, measuring, onProgress);
      line.clear();
      if ('error' in result) exitCode = 1;
      console.log(json ? JSON.stringify(result) : asText(result));
    }
  } finally {
    line.clear();
    await measuring.pool.close();
  }
  return exitCode;
}

/** Says what went wrong in plain words and gives the exit code. */
function told(error: unknown, exitCode: number, more = ''): number {
  console.error(`${error instanceof Error ? error.message : error}${more}`);
  return exitCode;
}

let order: ReturnType<typeof readOrder> | null = null;
try {
  order = readOrder();
} catch (error) {
  process.exitCode = told(error, 2, `\n\n${checkUsage}`);
}
if (order !== null) process.exitCode = await checkAll(order).catch((error: unknown) => told(error, 1));

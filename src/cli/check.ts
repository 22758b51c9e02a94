import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { parseCaption } from '../captions/parse.ts';
import { LiftId } from '../facts/facts.ts';
import { judge } from '../judge/judge.ts';
import { createWorkerPool } from '../queue/worker-pool.ts';
import { messageTemplate } from '../rules/settings.ts';
import { loadRules, loadSettings } from '../settings/load.ts';
import { wordError, wordReply } from '../wording/reply.ts';

const usage = 'check FILE... [--caption TEXT] [--lift squat|press|deadlift|bench|other] [--rules FILE] [--json]';
const rootPath = (path: string) => fileURLToPath(new URL(`../../${path}`, import.meta.url));

function readArguments() {
  const options = {
    caption: { type: 'string' },
    lift: { type: 'string' },
    rules: { type: 'string' },
    json: { type: 'boolean' },
  } as const;
  const { values, positionals } = parseArgs({ options, allowPositionals: true });
  if (positionals.length === 0) throw new Error('name at least one file');
  return { ...values, forcedLift: values.lift === undefined ? null : LiftId.parse(values.lift), files: positionals };
}

/** Measures, judges and words each file; gives the exit code: 0 all judged, 1 one could not be read. */
async function check({ files, caption, forcedLift, rules, json }: ReturnType<typeof readArguments>): Promise<number> {
  const settings = loadRules(rules ?? rootPath('config/rules.yaml'));
  const { limits } = loadSettings(rootPath('config/settings.yaml'));
  const pool = createWorkerPool({ size: 1, entry: rootPath('workers/measure-clip.ts'), recycleAfter: 100 });
  let exitCode = 0;
  for (const [i, name] of files.entries()) {
    const task = { kind: 'measure', id: String(i), file: resolve(name), limits } as const;
    const answer = await pool.run(task, { signal: AbortSignal.timeout((limits.timeoutS + 10) * 1000) });
    if (answer.kind !== 'facts') {
      exitCode = 1;
      const code = answer.kind === 'failed' ? answer.code : 'worker-died';
      console.log(
        json
          ? JSON.stringify({ file: name, error: { code, message: wordError(code, 'en') } })
          : `${name}: ${wordError(code, 'en')}`,
      );
      continue;
    }
    const facts = { ...answer.facts, ...(caption === undefined ? {} : { caption: parseCaption(caption) }) };
    const judgement = judge(facts, { forcedLift, settings });
    const messageOverrides = (rule: string, message: string) => messageTemplate(settings, rule, message, judgement.lift);
    const { text } = wordReply(judgement, facts, { language: 'en', trimmedAttached: false, firstTime: false, messageOverrides });
    const { verdict, findings } = judgement;
    if (json)
      console.log(
        JSON.stringify({ file: name, verdict, findings, reply: { text, pictures: [] }, facts, timings: answer.timings }),
      );
    else console.log(`${name}\n${text}\n`);
  }
  await pool.close();
  return exitCode;
}

try {
  process.exitCode = await check(readArguments());
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n${usage}`);
  process.exitCode = 2;
}

import { parseArgs } from 'node:util';
import { parseCaption } from '../captions/parse.ts';
import { LiftId } from '../facts/facts.ts';
import { judge } from '../judge/judge.ts';
import { messageTemplate } from '../rules/settings.ts';
import { loadRules } from '../settings/load.ts';
import { wordError, wordReply } from '../wording/reply.ts';
import { measuringPool, projectPath } from './measured-clips.ts';

const usage = 'check FILE... [--caption TEXT] [--lift squat|press|deadlift|bench|other] [--rules FILE] [--json]';

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
  const settings = loadRules(rules ?? projectPath('config/rules.yaml'));
  const { pool, measure } = measuringPool(1);
  let exitCode = 0;
  for (const name of files) {
    const answer = await measure(name);
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

import { readConfiguration } from '../main/project.ts';
import { rejudgeArguments, rejudgeLedger, rejudgeUsage } from './rejudge-ledger.ts';

/** Judges stored clips again by other rules. */
let asked: ReturnType<typeof rejudgeArguments> | null = null;
try {
  asked = rejudgeArguments(process.argv.slice(2));
} catch (error) {
  console.error(`${error instanceof Error ? error.message : error}\n\n${rejudgeUsage}`);
  process.exitCode = 2;
}
if (asked !== null) {
  try {
    console.log(await rejudgeLedger(asked, readConfiguration()));
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
    process.exitCode = 1;
  }
}

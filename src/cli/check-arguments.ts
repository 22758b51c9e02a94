import { parseArgs } from 'node:util';
import type { z } from 'zod';
import { LiftId } from '../facts/facts.ts';
import { RequestedView } from '../rules/request.ts';

/** How the command is called. */
export const checkUsage = `check FILE... [--caption TEXT] [--lift LIFT] [--request VIEW] [--rules FILE] [--json] [--out DIR]
  --caption TEXT  what the member wrote with the clip
  --lift LIFT     judge as this lift: ${LiftId.options.join(', ')}
  --request VIEW  what a coach asked to see: ${RequestedView.options.join(', ')}
  --rules FILE    rules to judge by, instead of config/rules.yaml
  --json          one JSON object a line, see config/check-result.schema.json
  --out DIR       write the pictures and the trimmed clip there
Exit code: 0 every file was judged, 1 one could not be read, 2 wrong usage.`;

/** What was asked for on the command line. */
export interface CheckArguments {
  files: string[];
  caption?: string;
  lift?: LiftId;
  request?: RequestedView;
  rules?: string;
  out?: string;
  json: boolean;
}

function oneOf<T extends string>(schema: z.ZodType<T> & { options: readonly T[] }, name: string, text: string): T {
  const parsed = schema.safeParse(text);
  if (!parsed.success) throw new Error(`--${name} is "${text}", and may be ${schema.options.join(', ')}`);
  return parsed.data;
}

/** Reads the words after the command's name. Throws an Error that says what is wrong with them. */
export function checkArguments(words: string[]): CheckArguments {
  const text = { type: 'string' } as const;
  const options = {
    ...{ caption: text, lift: text, request: text, rules: text, out: text },
    json: { type: 'boolean', default: false },
  } as const;
  const { values, positionals: files } = parseArgs({ args: words, options, allowPositionals: true });
  if (files.length === 0) throw new Error('name at least one file');
  if (files.includes('')) throw new Error('a file has an empty name');
  const { lift, request, ...rest } = values;
  return {
    ...rest,
    files,
    ...(lift === undefined ? {} : { lift: oneOf(LiftId, 'lift', lift) }),
    ...(request === undefined ? {} : { request: oneOf(RequestedView, 'request', request) }),
  };
}

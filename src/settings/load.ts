import { readFileSync } from 'node:fs';
import { parseDocument } from 'yaml';
import { z } from 'zod';
import { lifts } from '../lifts/index.ts';
import { rules } from '../rules/index.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';
import { nearestName } from './nearest.ts';
import { RulesFile, SettingsFile } from './schema.ts';
import { SettingsError } from './settings-error.ts';

/**
 * Reads and checks a rules file.
 * @throws SettingsError naming file, place and fix
 */
export function loadRules(file: string): RulesSettings {
  return parseRules(readText(file), file);
}

/**
 * Checks a rules file's text, YAML or JSON; `name` stands for the file in errors.
 * The result holds what was written, without defaults filled in, and is frozen.
 * @throws SettingsError naming file, place and fix
 */
export function parseRules(text: string, name: string): RulesSettings {
  const raw = readYaml(text, name) ?? {};
  check(RulesFile, raw, name);
  const settings = raw as RulesSettings;
  const problems = [];
  for (const rule of rules) {
    for (const lift of [null, ...lifts.map(({ id }) => id)]) {
      try {
        effectiveRule(rule, lift, settings);
      } catch (error) {
        if (!(error instanceof z.ZodError)) throw error;
        const path = lift === null ? `${rule.id}.options` : `${rule.id}.lifts.${lift}.options`;
        problems.push(...error.issues.map((issue) => problemOf(issue, path.split('.'), RulesFile)));
      }
    }
  }
  if (problems.length > 0) throw new SettingsError(name, problems);
  return freeze(settings);
}

/**
 * Reads and checks config/settings.yaml, defaults filled in, frozen.
 * @throws SettingsError naming file, place and fix
 */
export function loadSettings(file: string): SettingsFile {
  return parseSettings(readText(file), file);
}

/**
 * Checks the text of a settings file; `name` stands for the file in errors.
 * @throws SettingsError naming file, place and fix
 */
export function parseSettings(text: string, name: string): SettingsFile {
  return freeze(check(SettingsFile, readYaml(text, name) ?? {}, name));
}

function readText(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (cause) {
    const code = (cause as NodeJS.ErrnoException).code ?? 'unreadable';
    throw new SettingsError(
      file,
      [{ path: '', problem: `the file cannot be read (${code})`, fix: 'Check its name and permissions' }],
      { cause },
    );
  }
}

function readYaml(text: string, name: string): unknown {
  const document = parseDocument(text, { uniqueKeys: true, prettyErrors: true });
  if (document.errors.length > 0) {
    const problems = document.errors.map((error) => ({
      path: error.linePos === undefined ? '' : `line ${error.linePos[0].line}`,
      problem: error.message.split('\n')[0]!.replace(/[.:]+$/, ''),
      fix: 'Mend the YAML there',
    }));
    throw new SettingsError(name, problems, { cause: document.errors[0] });
  }
  try {
    return document.toJS({ maxAliasCount: 20 }); // chosen: a bound for a file that unfolds for ever
  } catch (cause) {
    throw new SettingsError(name, [{ path: '', problem: 'too many aliases', fix: 'Write the values out' }], { cause });
  }
}

function check<S extends z.ZodType>(schema: S, raw: unknown, name: string): z.output<S> {
  const result = schema.safeParse(raw);
  if (result.success) return result.data;
  throw new SettingsError(
    name,
    result.error.issues.flatMap((issue) =>
      issue.code === 'unrecognized_keys'
        ? issue.keys.map((key) => unknownKey(key, issue.path.map(String), schema))
        : [problemOf(issue, [], schema)],
    ),
    { cause: result.error },
  );
}

function unknownKey(key: string, at: readonly string[], schema: z.ZodType): { path: string; problem: string; fix: string } {
  const names = namesAt(schema, at);
  const near = nearestName(key, names);
  const fix = near === null ? `Known here: ${names.join(', ')}` : `Did you mean "${near}"?`;
  return { path: [...at, key].join('.'), problem: `unknown name "${key}"`, fix };
}

function problemOf(issue: z.core.$ZodIssue, before: readonly string[], schema: z.ZodType) {
  const at = [...before, ...issue.path.map(String)];
  if (issue.code === 'unrecognized_keys') return unknownKey(issue.keys[0]!, at, schema);
  const fix =
    issue.code === 'invalid_value'
      ? `Use one of: ${issue.values.join(', ')}`
      : issue.code === 'too_small'
        ? `Use ${issue.inclusive === false ? 'more than' : 'at least'} ${issue.minimum}`
        : issue.code === 'too_big'
          ? `Use ${issue.inclusive === false ? 'less than' : 'at most'} ${issue.maximum}`
          : issue.code === 'invalid_type'
            ? `Write a value of type ${issue.expected}`
            : 'Change the value';
  return { path: at.join('.'), problem: issue.message.replace(/\.$/, ''), fix };
}

/** Names that are known at a place in the file; record keys and array places are stepped over. */
function namesAt(schema: z.ZodType, at: readonly string[]): string[] {
  let here: unknown = schema;
  for (const key of at) {
    const inner = unwrap(here);
    if (inner instanceof z.ZodObject) here = inner.shape[key];
    else if (inner instanceof z.ZodRecord) here = inner.valueType;
    else if (inner instanceof z.ZodArray) here = inner.element;
    else return [];
  }
  const last = unwrap(here);
  if (last instanceof z.ZodObject) return Object.keys(last.shape);
  if (last instanceof z.ZodRecord && last.keyType instanceof z.ZodEnum) return last.keyType.options.map(String);
  return [];
}

function unwrap(schema: unknown): unknown {
  if (
    schema instanceof z.ZodOptional ||
    schema instanceof z.ZodNullable ||
    schema instanceof z.ZodDefault ||
    schema instanceof z.ZodPrefault
  ) {
    return unwrap(schema.unwrap());
  }
  return schema;
}

function freeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const inner of Object.values(value)) freeze(inner);
  }
  return value;
}

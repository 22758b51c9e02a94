import { z } from 'zod';
import { SettingsFile } from './schema.ts';

/** The part of JSON Schema (draft 7) that zod writes for the settings. */
interface Schema {
  type?: string;
  description?: string;
  default?: unknown;
  enum?: unknown[];
  anyOf?: Schema[];
  properties?: Record<string, Schema>;
  items?: Schema;
  additionalProperties?: Schema | boolean;
  minimum?: number;
  maximum?: number;
  exclusiveMinimum?: number;
}

const head = `# Settings

Written by \`npm run -s schemas\` from \`src/settings/schema.ts\`; do not change it by hand.

Settings are in \`config/settings.yaml\`, or in the folder that \`CONFIG_FOLDER\` names. What is not written there is as in the column
*usual*; a misspelt name is an error that says what you may have meant. Editors that read YAML schemas complete names and check values while
you type: both \`settings.yaml\` and \`rules.yaml\` name their schema in the first line. What each rule asks of a clip is in
\`config/rules.yaml\`; tokens, passwords and addresses of databases are in the environment, see [.env.example](.env.example). The bot reads
its settings at start.
`;

/** The page about all settings, Markdown, made from their schema. */
export function settingsPage(): string {
  const schema = z.toJSONSchema(SettingsFile, { target: 'draft-7', io: 'input', reused: 'inline' }) as Schema;
  const sections = Object.entries(schema.properties ?? {}).map(([name, section]) => {
    const rows = rowsOf(section, `${name}.`).map((cells) => `| ${cells.map(cell).join(' | ')} |`);
    return `\n## ${name}\n${section.description ?? ''}\n\n| setting | usual | may be | what |\n| --- | --- | --- | --- |\n${rows.join('\n')}\n`;
  });
  return head + sections.join('');
}

function rowsOf(schema: Schema, path: string): string[][] {
  return Object.entries(schema.properties ?? {}).flatMap(([name, inner]) => {
    const at = `${path}${name}`;
    const what = inner.description ?? '';
    if (inner.properties === undefined) return [[`\`${at}\``, usual(inner.default), mayBe(inner), what]];
    return [...(what === '' ? [] : [[`\`${at}\``, '', 'a section', what]]), ...rowsOf(inner, `${at}.`)];
  });
}

const usual = (value: unknown) => (value === undefined ? '' : `\`${JSON.stringify(value)}\``);
const cell = (text: string) => text.replaceAll('|', '\\|');

function mayBe(schema: Schema): string {
  if (schema.anyOf !== undefined) return schema.anyOf.map(mayBe).join(' or ');
  if (schema.enum !== undefined) return schema.enum.map((value) => `\`${value}\``).join(', ');
  if (schema.type === 'array') return `list of ${mayBe(schema.items ?? {})}`;
  if (schema.type === 'object') {
    const inner = schema.additionalProperties;
    return `names, each with ${typeof inner === 'object' ? mayBe(inner) : 'a value'}`;
  }
  if (schema.type === 'number' || schema.type === 'integer')
    return `${schema.type === 'integer' ? 'whole number' : 'number'}${range(schema)}`;
  if (schema.type === 'string') return 'text';
  return schema.type ?? 'anything';
}

function range({ minimum, exclusiveMinimum, maximum }: Schema): string {
  const from =
    exclusiveMinimum !== undefined ? `, more than ${exclusiveMinimum}` : minimum !== undefined ? `, ${minimum} or more` : '';
  return maximum === undefined || maximum >= Number.MAX_SAFE_INTEGER ? from : `${from}, ${maximum} at most`;
}

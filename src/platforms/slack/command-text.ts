import type { Command, Form } from '../port.ts';

/** What the words after the slash command mean. `missing`: a required field was not given or not understood. */
export type ParsedCommand =
  | { kind: 'help' }
  | { kind: 'command'; command: Command; values: Record<string, string>; missing: boolean };

/** Longest text of a free field that is asked for in a form, characters: Slack's most for an input (Block Kit reference). */
const freeTextMax = 3000;

const folded = (text: string) => text.toLocaleLowerCase('en').replace(/\s+/g, ' ').trim();

/** The option whose value or label begins the text, the longest first; `rest` is what follows it. */
function leadingOption(options: { value: string; label: string }[], text: string): { value: string; rest: string } | null {
  const names = options.flatMap((one) =>
    [one.value, one.label].map((name) => ({ value: one.value, words: folded(name).split(' ') })),
  );
  names.sort((a, b) => b.words.length - a.words.length);
  const words = text.split(/\s+/).filter((word) => word !== '');
  for (const { value, words: name } of names) {
    if (name.every((word, at) => folded(words[at] ?? '') === word)) return { value, rest: words.slice(name.length).join(' ') };
  }
  return null;
}

/** One free field's text: in quotes, or the rest when it is the last field, or one word. */
function leadingText(text: string, last: boolean): { value: string; rest: string } {
  const quoted = /^"([^"]*)"\s*(.*)$/s.exec(text);
  if (quoted !== null) return { value: quoted[1]!, rest: quoted[2]! };
  if (last) return { value: text, rest: '' };
  const [word = '', ...more] = text.split(/\s+/);
  return { value: word, rest: more.join(' ') };
}

/**
 * Reads `film squat low gym` against the commands: a command's name, then its fields in order. A field with options takes a value or
 * a label; an optional field with options that does not fit is passed over.
 */
export function parseCommand(text: string, commands: Command[]): ParsedCommand {
  const [name = '', ...words] = text.trim().split(/\s+/);
  const command = commands.find((one) => one.name === folded(name));
  if (command === undefined) return { kind: 'help' };
  let rest = words.join(' ');
  const values: Record<string, string> = {};
  for (const [index, field] of command.fields.entries()) {
    if (rest === '') break;
    const last = index === command.fields.length - 1;
    const taken = field.options === null ? leadingText(rest, last) : leadingOption(field.options, rest);
    if (taken === null) continue;
    values[field.id] = taken.value;
    rest = taken.rest.trim();
  }
  const missing = rest !== '' || command.fields.some((field) => field.required && !values[field.id]);
  return { kind: 'command', command, values, missing: missing && command.fields.length > 0 };
}

/** The form that asks for a command's fields; its id is read back by {@link commandOfForm}. */
export function commandForm(command: Command): Form {
  return {
    id: `command:${command.name}`,
    title: command.name.charAt(0).toUpperCase() + command.name.slice(1),
    fields: command.fields.map((field) =>
      field.options === null
        ? {
            id: field.id,
            label: field.label,
            required: field.required,
            hint: '',
            kind: 'text',
            lines: 'one',
            maxLength: freeTextMax,
          }
        : { id: field.id, label: field.label, required: field.required, hint: '', kind: 'choice', options: field.options },
    ),
  };
}

/** The command's name of a form made by {@link commandForm}; null for any other form. */
export function commandOfForm(formId: string): string | null {
  return formId.startsWith('command:') ? formId.slice('command:'.length) : null;
}

/** What is shown for the bare slash command or an unknown word. */
export function helpText(slashCommand: string, commands: Command[]): string {
  return commands.map((command) => `**${slashCommand} ${command.name}** ${command.description}`).join('\n');
}

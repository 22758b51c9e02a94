import {
  type APIApplicationCommandInteractionDataOption,
  ApplicationCommandOptionType,
  ApplicationCommandType,
  InteractionContextType,
} from 'discord.js';
import type { Command } from '../port.ts';
import { finalFailure } from './failure.ts';
import { shorten } from './text.ts';

/** Names of commands and their fields: lower case, 1 to 32 letters, digits, `-` and `_` (Discord docs, application commands, naming). */
const namePattern = /^[-_\p{L}\p{N}]{1,32}$/u;

/** A field's id as Discord writes it. */
function fieldName(id: string): string {
  return id
    .toLowerCase()
    .replace(/[^-_\p{L}\p{N}]/gu, '-')
    .slice(0, 32);
}

/**
 * The registration of our commands, required fields first as Discord demands; texts have up to 100 characters, a field up to 25 choices
 * (Discord docs, application commands). Throws PlatformError `refused` for a name it would not take.
 */
export function registrationOf(commands: Command[]): unknown[] {
  return commands.map((command) => {
    if (!namePattern.test(command.name) || command.name !== command.name.toLowerCase()) {
      throw finalFailure('refused', `"${command.name}" cannot be a command on Discord: lower case, at most 32 letters`);
    }
    return {
      type: ApplicationCommandType.ChatInput,
      name: command.name,
      description: shorten(command.description, 100),
      contexts: [InteractionContextType.Guild],
      options: [...command.fields]
        .sort((a, b) => Number(b.required) - Number(a.required))
        .map((field) => ({
          type: ApplicationCommandOptionType.String,
          name: fieldName(field.id),
          description: shorten(field.label, 100),
          required: field.required,
          ...(field.options && {
            choices: field.options.slice(0, 25).map((o) => ({ name: shorten(o.label, 100), value: o.value })),
          }),
        })),
    };
  });
}

/** What was typed, by our field ids. */
export function valuesOf(
  command: Command | undefined,
  options: APIApplicationCommandInteractionDataOption[],
): Record<string, string> {
  const values: Record<string, string> = {};
  for (const option of options) {
    const field = command?.fields.find(({ id }) => fieldName(id) === option.name);
    if ('value' in option) values[field?.id ?? option.name] = String(option.value);
  }
  return values;
}

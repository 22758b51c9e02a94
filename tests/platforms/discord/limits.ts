/** What Discord refuses and its schemas let pass. */
import type { Call } from './rest-parts.ts';
import type { Json } from './spec.ts';

const kindsIn = (row: Json) => (row.components as Json[]).map((c) => c.type);

/** Limits of a message that the schemas leave out (Discord docs: message resource, components). */
export function wrongMessage(body: Json, files: Call['files']): string | null {
  const content = String(body.content ?? '');
  const rows = (body.components ?? []) as Json[];
  const parts = rows.flatMap((row) => row.components as Json[]);
  const ids = parts.map((part) => part.custom_id);
  if ([...content].length > 2000) return 'content: over 2000 characters';
  if (content.trim() === '' && files.size === 0 && parts.length === 0) return 'empty message';
  if (rows.length > 5 || rows.some((row) => row.type !== 1)) return 'components: at most five action rows';
  if (rows.some((row) => kindsIn(row).includes(3) && kindsIn(row).length > 1))
    return 'components: a select stands alone in its row';
  if (new Set(ids).size !== ids.length) return 'components: custom ids repeat';
  if (files.size > 10) return 'files: at most ten';
  if ([...files.values()].some((file) => file.body.length > 10 * 1024 * 1024)) return 'files: over 10 MiB';
  const told = (body.attachments ?? []) as { id: number | string; filename?: string }[];
  if (files.size > 0 && told.some((a) => files.get(`files[${a.id}]`)?.name !== a.filename))
    return 'attachments: not those that were sent';
  return null;
}

/** Flags a bot may set: 1 << 2 suppress embeds, 1 << 6 ephemeral (interactions only). */
export const wrongFlags = (body: Json, ephemeral: boolean) => (Number(body.flags ?? 0) & ~(ephemeral ? 68 : 4)) !== 0;

/** Labels take their text from outside; an input in them must not carry its own (Discord docs, label). */
export function wrongModal(data: Json): string | null {
  const labels = data.components as Json[];
  if (labels.length > 5) return 'modal: at most five components';
  const inner = labels.map((label) => label.component as Json | undefined);
  if (inner.some((input) => !input || input.label)) return 'modal: an input in a label has no label of its own';
  return null;
}

/** Names of commands and options: Discord docs, application command naming. */
const commandName = /^[-_'\p{L}\p{N}\p{sc=Deva}\p{sc=Thai}]{1,32}$/u;

export function wrongCommands(commands: Json[]): string | null {
  for (const command of commands) {
    const options = (command.options ?? []) as {
      name: string;
      required?: boolean;
      choices?: { name: string; value: string }[];
    }[];
    const names = [String(command.name), ...options.map((o) => o.name)];
    if (names.some((name) => !commandName.test(name) || name !== name.toLowerCase())) return 'name';
    if (new Set(options.map((o) => o.name)).size !== options.length) return 'options: names repeat';
    if (options.some((o, i) => o.required && i > 0 && !options[i - 1]!.required)) return 'options: required ones come first';
    if (!command.description) return 'description';
  }
  return null;
}

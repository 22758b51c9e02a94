import { ComponentType, type ModalSubmitComponent, TextInputStyle } from 'discord.js';
import type { Form } from '../port.ts';
import { finalFailure } from './failure.ts';
import { selectOf } from './outgoing.ts';
import { shorten } from './text.ts';

/** Top-level components of a modal (Discord docs, components, modal). */
const maxFields = 5;

const inputOf = (field: Form['fields'][number]) =>
  field.kind === 'choice'
    ? { ...selectOf(field.id, field.options), required: field.required }
    : {
        type: ComponentType.TextInput,
        custom_id: field.id,
        style: field.lines === 'one' ? TextInputStyle.Short : TextInputStyle.Paragraph,
        required: field.required,
        max_length: Math.min(field.maxLength, 4000), // Discord docs, component reference, text input
      };

/** A form as a Discord modal: each field stands under a label with its hint. Throws PlatformError `refused` over five fields. */
export function modalOf(form: Form) {
  if (form.fields.length === 0 || form.fields.length > maxFields)
    throw finalFailure('refused', `a form on Discord has 1 to ${maxFields} fields`);
  return {
    custom_id: form.id,
    // 45 and 100 characters: Discord docs, interactions, modal, and component reference, label
    title: shorten(form.title, 45),
    components: form.fields.map((field) => ({
      type: ComponentType.Label,
      label: shorten(field.label, 45),
      ...(field.hint && { description: shorten(field.hint, 100) }),
      component: inputOf(field),
    })),
  };
}

/** What was filled in, by field id; a choice left open is absent. */
export function filledIn(components: { type: number; component?: unknown }[]): Record<string, string> {
  const values: Record<string, string> = {};
  for (const { component } of components as { component?: ModalSubmitComponent }[]) {
    if (component?.type === ComponentType.TextInput) values[component.custom_id] = component.value;
    if (component?.type === ComponentType.StringSelect && component.values[0] !== undefined)
      values[component.custom_id] = component.values[0];
  }
  return values;
}

import type { Action, Button, Choice, Command, Form, MessageRef } from '../port.ts';
import { type RoomChannels, readable } from './people.ts';
import type { Session } from './sessions.ts';
import type { RoomStore } from './store.ts';
import { cleanText } from './text.ts';
import { refOf } from './view.ts';

/** What the page sends when a person acts. `key`: of the private answer or the open form; `message`: that carried the button. */
export interface SentAction {
  kind: Action['kind'];
  id: string;
  nonce: string;
  message?: string | undefined;
  key?: string | undefined;
  channel?: string | undefined;
  values: Record<string, string>;
}

/** Why an act is refused before the bot hears of it; `message` is for the person. */
export class RefusedAct extends Error {
  constructor(
    readonly code: 'stale' | 'incomplete' | 'forbidden',
    message: string,
  ) {
    super(message);
  }
}

/** Longest value of a field that names no length of its own, in characters. Chosen. */
const maxValue = 2000;

type Field = { id: string; label: string; required: boolean; options: { value: string }[] | null; maxLength: number };

function checkValues(fields: Field[], sent: Record<string, string>): Record<string, string> {
  const values: Record<string, string> = {};
  for (const field of fields) {
    const value = cleanText(Object.hasOwn(sent, field.id) ? (sent[field.id] ?? '') : '').trim();
    if (value === '') {
      if (field.required) throw new RefusedAct('incomplete', `Please fill in “${field.label}”.`);
      continue;
    }
    if (value.length > field.maxLength)
      throw new RefusedAct(
        'incomplete',
        `“${field.label}” takes at most ${field.maxLength} characters; this is ${value.length}.`,
      );
    if (field.options !== null && !field.options.some((option) => option.value === value))
      throw new RefusedAct('incomplete', `“${field.label}” does not offer that choice.`);
    values[field.id] = value;
  }
  return values;
}

function formFields(form: Form): Field[] {
  return form.fields.map((field) => {
    const choice = field.kind === 'choice';
    return { ...field, options: choice ? field.options : null, maxLength: choice ? maxValue : field.maxLength };
  });
}

/**
 * Checks an act against what stands in the room now: the button is on a message that this person can see, the form was opened for this
 * session, the command exists and its values fit. An open form is used up by it. Throws {@link RefusedAct}.
 */
export function checkAction(
  sent: SentAction,
  session: Session,
  store: RoomStore,
  channels: RoomChannels,
  commands: Command[],
): Action {
  const { person } = session;
  const act = (where: MessageRef | null, channel: string, values: Record<string, string>): Action => ({
    ...{
      kind: sent.kind,
      id: sent.id,
      pressId: `room:${session.token.slice(0, 8)}:${sent.nonce}`,
      person,
      where,
      channel,
      values,
    },
  });
  const gone = () =>
    new RefusedAct('stale', 'That is no longer on offer: the message has changed since. Please look at it again.');
  if (sent.kind === 'command') {
    const command = commands.find((one) => one.name === sent.id);
    if (command === undefined) throw new RefusedAct('stale', 'The bot does not know that command.');
    const channel = sent.channel ?? channels.clips;
    if (!readable(person, channels).includes(channel)) throw new RefusedAct('forbidden', 'You cannot see that channel.');
    const fields = command.fields.map((field) => ({ ...field, maxLength: maxValue }));
    return act(null, channel, checkValues(fields, sent.values));
  }
  if (sent.kind === 'form') {
    const open = session.forms.get(sent.key ?? '');
    if (open === undefined || open.form.id !== sent.id)
      throw new RefusedAct(
        'stale',
        'This form was sent already, or the room was started again since it opened. Please open it again.',
      );
    const values = checkValues(formFields(open.form), sent.values);
    session.forms.delete(sent.key ?? '');
    return act(open.where, open.channel, values);
  }
  const message = store.message(sent.message ?? '');
  const inPrivate = session.privates.get(sent.key ?? '');
  let carrier: { buttons: Button[]; choices: Choice[] };
  if (message !== null && !message.removed) {
    if (!readable(person, channels).includes(message.channel)) throw new RefusedAct('forbidden', 'You cannot see that message.');
    carrier = message;
  } else if (inPrivate !== undefined) carrier = inPrivate.message;
  else throw gone();
  const where = message === null ? null : refOf(message);
  const channel = message?.channel ?? inPrivate?.channel ?? channels.clips;
  if (sent.kind === 'button') {
    if (!carrier.buttons.some((button) => button.id === sent.id)) throw gone();
    return act(where, channel, {});
  }
  const choice = carrier.choices.find((one) => one.id === sent.id);
  if (choice === undefined) throw gone();
  const field = { ...choice, required: true, maxLength: maxValue };
  return act(where, channel, checkValues([field], sent.values));
}

// Buttons, choices, forms and commands of the bot, and the private answers to them.
import { el, marked, nonce } from './dom.js';
import { fileNodes } from './files.js';
import { ask } from './net.js';

let fieldCount = 0;

/** One field of a form or command as label and control; `read` yields its value. */
function field(one) {
  const id = `f${fieldCount++}`;
  const hint = one.hint ? el('p', { class: 'quiet', id: `${id}-hint` }, one.hint) : null;
  const props = { id, name: one.id, required: one.required, 'aria-describedby': hint === null ? null : `${id}-hint` };
  let control;
  if (one.options) {
    const empty = one.required ? 'Please choose' : 'No choice';
    control = el(
      'select',
      props,
      el('option', { value: '' }, empty),
      ...one.options.map(({ value, label }) => el('option', { value }, label)),
    );
  } else if (one.lines === 'many') control = el('textarea', { ...props, rows: 3, maxLength: one.maxLength ?? 2000 });
  else control = el('input', { ...props, type: 'text', maxLength: one.maxLength ?? 2000, autocomplete: 'off' });
  const label = el('label', { for: id }, one.label, one.required ? '' : el('span', { class: 'quiet' }, ' (if you like)'));
  return { nodes: [label, hint, control], read: () => [one.id, control.value] };
}

/** Sends an act and shows what the bot answers in `place` (an element that is emptied first). */
export async function act(body, place) {
  const waiting = setTimeout(() => place.replaceChildren(el('p', { class: 'quiet', role: 'status' }, 'The bot is at it…')), 300);
  try {
    const reply = await ask('POST', '/api/actions', { values: {}, ...body, nonce: nonce() });
    clearTimeout(waiting);
    if (reply.kind === 'form') {
      place.replaceChildren();
      openForm(reply, place);
    } else if (reply.kind === 'private') {
      place.replaceChildren(privateAnswer(reply, place));
      place.querySelector('.private').focus();
    } else place.replaceChildren(el('p', { class: 'quiet', role: 'status' }, 'Done.'));
    return true;
  } catch (error) {
    clearTimeout(waiting);
    place.replaceChildren(el('p', { class: 'trouble', role: 'alert' }, error.message));
    return false;
  }
}

function privateAnswer(reply, place) {
  return el(
    'section',
    { class: 'private', 'aria-label': 'Answer for you alone', tabIndex: -1 },
    el('p', { class: 'quiet' }, 'Only you see this'),
    el('div', { class: 'text' }, marked(reply.text)),
    fileNodes(reply.files),
    controls(reply, { key: reply.key }, place),
    el('button', { type: 'button', class: 'small', onclick: () => place.replaceChildren() }, 'Put away'),
  );
}

/** The buttons and choices of a message; null when it has none. `carrier` names it: message or key. */
export function controls({ buttons, choices }, carrier, place) {
  if (buttons.length === 0 && choices.length === 0) return null;
  return el(
    'div',
    { class: 'row acts' },
    buttons.map((button) =>
      el(
        'button',
        {
          type: 'button',
          class: button.style,
          onclick: async (event) => {
            event.target.disabled = true;
            await act({ kind: 'button', id: button.id, ...carrier }, place);
            event.target.disabled = false;
          },
        },
        button.label,
      ),
    ),
    choices.map((choice) => {
      const one = field({ ...choice, required: true });
      return el(
        'form',
        {
          class: 'choice',
          onsubmit: (event) => {
            event.preventDefault();
            act({ kind: 'choice', id: choice.id, values: Object.fromEntries([one.read()]), ...carrier }, place);
          },
        },
        one.nodes,
        el('button', { type: 'submit', 'aria-label': `Choose: ${choice.label}` }, 'Choose'),
      );
    }),
  );
}

/** Opens a form of the bot as a dialog; the answer to it is shown in `place`. */
function openForm(form, place) {
  const dialog = document.getElementById('dialog');
  const back = document.activeElement;
  const fields = form.fields.map(field);
  const trouble = el('div');
  dialog.replaceChildren(
    el(
      'form',
      {
        onsubmit: async (event) => {
          event.preventDefault();
          const values = Object.fromEntries(fields.map((one) => one.read()));
          const answer = el('div');
          if (await act({ kind: 'form', id: form.id, key: form.key, values }, answer)) {
            // Another form may have taken the dialog's place.
            if (dialog.contains(event.target)) dialog.close();
            place.replaceChildren(...answer.childNodes);
            place.querySelector('.private')?.focus();
          } else trouble.replaceChildren(...answer.childNodes);
        },
      },
      el('h2', { id: 'dialog-title' }, form.title),
      fields.flatMap((one) => one.nodes),
      trouble,
      el(
        'div',
        { class: 'row' },
        el('button', { type: 'submit', class: 'good' }, 'Send'),
        el('button', { type: 'button', onclick: () => dialog.close() }, 'Cancel'),
      ),
    ),
  );
  dialog.onclose = () => back?.isConnected && back.focus();
  if (!dialog.open) dialog.showModal();
}

/** The bot's commands, each as a small form with its answer below it. */
export function commandList(commands, channel) {
  if (commands.length === 0) return el('p', { class: 'quiet' }, 'The bot offers nothing to ask for here.');
  return el(
    'div',
    { class: 'commands' },
    commands.map((command) => {
      const fields = command.fields.map(field);
      const place = el('div', { class: 'answer' });
      const run = (event) => {
        event.preventDefault();
        act({ kind: 'command', id: command.name, channel, values: Object.fromEntries(fields.map((one) => one.read())) }, place);
      };
      return el(
        'details',
        { class: 'command' },
        el('summary', {}, el('strong', {}, command.name), ` · ${command.description}`),
        el(
          'form',
          { 'aria-label': command.name, onsubmit: run },
          fields.flatMap((one) => one.nodes),
          el('button', { type: 'submit', class: 'good' }, 'Ask'),
        ),
        place,
      );
    }),
  );
}

// Buttons, choices, forms and commands of the bot, and the private answers to them.
import { openDialog } from './dialog.js';
import { el, lines, nonce } from './dom.js';
import { fileNodes } from './files.js';
import { ask } from './net.js';

let fieldCount = 0;

/** What was typed into a form that was not sent, or into a command: it stands there when the same is opened again. */
const typed = new Map();

/** One field of a form or command as label and control; `read` yields its value. `was`: what stands in it. */
function field(one, was) {
  const id = `f${fieldCount++}`;
  const hint = one.hint ? el('p', { class: 'quiet', id: `${id}-hint` }, one.hint) : null;
  const props = { id, name: one.id, required: one.required, 'aria-describedby': hint === null ? null : `${id}-hint` };
  const maxLength = one.maxLength ?? 2000; // as in actions.ts
  let control;
  if (one.options) {
    const empty = one.required ? 'Please choose' : 'No choice';
    control = el(
      'select',
      props,
      el('option', { value: '' }, empty),
      ...one.options.map(({ value, label }) => el('option', { value, selected: value === was }, label)),
    );
  } else if (one.lines === 'many')
    control = el('textarea', { ...props, rows: maxLength > 1000 ? 10 : 3, maxLength, value: was ?? '' });
  else control = el('input', { ...props, type: 'text', maxLength, autocomplete: 'off', value: was ?? '' });
  const label = el('label', { for: id }, one.label, one.required ? '' : el('span', { class: 'quiet' }, ' (if you like)'));
  return { nodes: [label, hint, control], read: () => [one.id, control.value] };
}

/** Says something under an answer, in place of what was said there before; the answer stays. */
function tell(place, node) {
  place.querySelector(':scope > .told')?.remove();
  if (node === null) return;
  node.classList.add('told');
  place.append(node);
}

/** Sends an act and shows in `place` what the bot answers: resolves to that answer, if there is one, or to what went wrong. `opener`: what was pressed. */
async function send(body, place, opener) {
  const waiting = setTimeout(() => tell(place, el('p', { class: 'quiet', role: 'status' }, 'The bot is at it…')), 300);
  try {
    const reply = await ask('POST', '/api/actions', { values: {}, ...body, nonce: nonce() });
    clearTimeout(waiting);
    tell(place, null);
    if (reply.kind === 'form') openForm(reply, place);
    else if (reply.kind === 'private') {
      const answer = privateAnswer(reply, place, opener);
      place.replaceChildren(answer);
      return { answer };
    } else {
      place.replaceChildren();
      tell(place, el('p', { class: 'quiet', role: 'status' }, 'Done.'));
    }
    return {};
  } catch (error) {
    clearTimeout(waiting);
    tell(place, null);
    return { wrong: el('p', { class: 'trouble', role: 'alert' }, error.message) };
  }
}

/** Sends an act from a place in the page; the keyboard goes to the answer. */
async function act(body, place) {
  const { answer, wrong } = await send(body, place, document.activeElement);
  if (wrong !== undefined) tell(place, wrong);
  answer?.focus();
}

/** Sends an act from the dialog; see `onSend` there. */
async function actFromDialog(body, place, opener) {
  const { answer, wrong } = await send(body, place, opener);
  // After the dialog is closed, which gives the keyboard back.
  if (answer !== undefined) setTimeout(() => answer.focus());
  return wrong ?? null;
}

function privateAnswer(reply, place, opener) {
  const home = place.closest('[tabindex="-1"]');
  const putAway = () => {
    place.replaceChildren();
    (opener?.isConnected && opener !== document.body ? opener : home)?.focus();
  };
  return el(
    'section',
    { class: 'private', 'aria-label': 'Answer for you alone', tabIndex: -1 },
    el('p', { class: 'quiet' }, 'Only you see this'),
    el('div', { class: 'text' }, lines(reply.text)),
    fileNodes(reply.files),
    controls(reply, { key: reply.key }, place),
    el('button', { type: 'button', class: 'small away', onclick: putAway }, 'Put away'),
  );
}

/** A button that does nothing while it is at work; it keeps the keyboard's place. */
function pressable(props, work, ...children) {
  let isBusy = false;
  const press = async () => {
    if (isBusy) return;
    isBusy = true;
    button.setAttribute('aria-disabled', 'true');
    await work();
    isBusy = false;
    button.removeAttribute('aria-disabled');
  };
  const button = el('button', { type: 'button', ...props, onclick: press }, ...children);
  return button;
}

/** The buttons and choices of a message; null when it has none. `carrier` names it: message or key. */
export function controls({ buttons, choices }, carrier, place) {
  if (buttons.length === 0 && choices.length === 0) return null;
  return el(
    'div',
    { class: 'row acts' },
    buttons.map(({ id, label, style }) =>
      pressable({ class: style }, () => act({ kind: 'button', id, ...carrier }, place), label),
    ),
    choices.map((choice) => {
      const one = field({ ...choice, required: true });
      const choose = (event) => {
        event.preventDefault();
        act({ kind: 'choice', id: choice.id, values: Object.fromEntries([one.read()]), ...carrier }, place);
      };
      return el(
        'form',
        { class: 'choice', onsubmit: choose },
        one.nodes,
        el('button', { type: 'submit', 'aria-label': `Choose: ${choice.label}` }, 'Choose'),
      );
    }),
  );
}

/** Opens fields as a dialog. What is typed stays for the next time under `memory`, unless `isOnce` and it was sent. */
function askFor({ title, intro, fields, send: label, memory, isOnce, body, place }) {
  const was = typed.get(memory) ?? {};
  const opener = document.activeElement;
  const made = fields.map((one) => field(one, was[one.id]));
  const read = () => Object.fromEntries(made.map((one) => one.read()));
  const dialog = openDialog({
    title,
    intro,
    content: made.flatMap((one) => one.nodes),
    send: label,
    onSend: async () => {
      const wrong = await actFromDialog({ ...body, values: read() }, place, opener);
      if (wrong === null && isOnce) typed.delete(memory);
      return wrong;
    },
  });
  dialog.oninput = () => typed.set(memory, read());
}

/** Opens a form of the bot; the answer to it is shown in `place`. */
function openForm(form, place) {
  const { id, key, title, fields } = form;
  askFor({ title, fields, send: 'Send', memory: `form ${id}`, isOnce: true, body: { kind: 'form', id, key }, place });
}

/** The bot's commands as buttons, each with its answer below it; one with fields opens a dialog. */
export function commandList(commands, channel) {
  if (commands.length === 0) return null;
  return el(
    'ul',
    { class: 'commands', 'aria-label': 'What you can ask the bot' },
    commands.map(({ name, description, fields }) => {
      const place = el('div', { class: 'answer' });
      const title = name.charAt(0).toUpperCase() + name.slice(1).replaceAll('-', ' ');
      const body = { kind: 'command', id: name, channel };
      const said = description.charAt(0).toUpperCase() + description.slice(1);
      const ends = /[.!?]$/.test(said) ? said : `${said}.`;
      const run = () =>
        fields.length === 0
          ? act(body, place)
          : askFor({ title, intro: ends, fields, send: 'Ask', memory: `command ${name}`, isOnce: false, body, place });
      return el(
        'li',
        { class: 'command', tabIndex: -1 },
        pressable({ 'aria-describedby': `c-${name}` }, run, title, fields.length > 0 ? '…' : ''),
        el('p', { id: `c-${name}` }, ends),
        place,
      );
    }),
  );
}

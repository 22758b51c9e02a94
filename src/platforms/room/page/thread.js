// One message, and a thread of them; both are kept up to date in place, so that a playing clip and the keyboard's place stay.
import { controls } from './acts.js';
import { openDialog } from './dialog.js';
import { el, lines, refill, when } from './dom.js';
import { fileNodes } from './files.js';
import { ask } from './net.js';
import { clipPicker, postForm } from './post-form.js';

/** Marks as symbol and words. */
const marks = {
  seen: ['◔', 'Seen, being looked at'],
  fix: ['↻', 'Please film again'],
  clean: ['✓', 'Clean, with the coaches'],
  unsure: ['?', 'Not sure, with the coaches'],
  failed: ['×', 'Could not be read'],
  done: ['★', 'Answered by a coach'],
};

export function markWords(mark) {
  return marks[mark]?.[1] ?? mark;
}

function messageNode(heading, room) {
  const slots = Object.fromEntries(
    ['head', 'text', 'files', 'marks', 'acts', 'place', 'own'].map((name) => [name, el('div', { class: name })]),
  );
  const node = el(
    'article',
    { class: 'message', tabIndex: -1 },
    slots.head,
    slots.text,
    slots.marks,
    slots.files,
    slots.acts,
    slots.place,
    slots.own,
  );
  return {
    node,
    update(message, me) {
      const { author } = message;
      node.id = `m${message.id}`;
      node.dataset.role = author.role;
      node.setAttribute('aria-label', `${author.role === 'bot' ? 'Answer of' : 'Post of'} ${author.name}`);
      refill(slots.head, [author, message.sentAtMs, message.edited], () => [
        el(heading, {}, author.name),
        el(
          'span',
          { class: 'quiet' },
          author.role === 'bot' ? ' the bot' : ` ${author.role}`,
          ' · ',
          when(message.sentAtMs),
          message.edited && author.role !== 'bot' ? ' · changed' : '',
        ),
        message.mention === null ? null : el('span', { class: 'calls' }, 'Calls the coaches'),
      ]);
      refill(slots.text, message.text, () => (author.role === 'bot' ? lines(message.text) : [message.text]));
      // A card with nothing left to do makes room for the others: its clip and pictures fold away.
      const isOver = author.role === 'bot' && message.edited && !message.buttons.some(({ style }) => style === 'good');
      const folds = isOver && message.buttons.length > 0 && message.files.length > 0;
      refill(slots.files, [message.files, folds], () =>
        folds ? el('details', {}, el('summary', {}, 'Clip and pictures'), fileNodes(message.files)) : fileNodes(message.files),
      );
      refill(slots.marks, message.marks, () =>
        message.marks.length === 0
          ? null
          : el(
              'ul',
              { 'aria-label': 'Marks' },
              message.marks.map((mark) =>
                el(
                  'li',
                  { class: `mark ${mark}` },
                  el('span', { 'aria-hidden': 'true' }, `${marks[mark]?.[0] ?? '•'} `),
                  markWords(mark),
                ),
              ),
            ),
      );
      refill(slots.acts, [message.buttons, message.choices], () => controls(message, { message: message.id }, slots.place));
      const trouble = (error) => slots.place.replaceChildren(el('p', { class: 'trouble', role: 'alert' }, error.message));
      const takeBack = () =>
        confirm('Take this post back? The clip is deleted from this room.') &&
        ask('DELETE', `/api/messages/${message.id}`).catch(trouble);
      refill(slots.own, author.id === me.id && [message.text, message.files.length], () =>
        author.id === me.id
          ? el(
              'div',
              { class: 'row' },
              el('button', { type: 'button', class: 'small', onclick: () => changePost(message, room) }, 'Change or add a clip'),
              el('button', { type: 'button', class: 'small', onclick: takeBack }, 'Take this post back'),
            )
          : null,
      );
    },
  };
}

/** Opens a member's own post: another caption, more clips. */
function changePost({ id, text, files }, room) {
  const picker = clipPicker({ room, id: `edit${id}`, label: 'Add a clip', most: 10 - files.length }); // 10: as in api.ts
  const caption = el('textarea', { id: `edit${id}-caption`, rows: 3, maxLength: 4000, value: text });
  openDialog({
    title: 'Change your post',
    intro: 'A clip that you add is looked at by itself. The answer to a clip that stands already stays as it is.',
    content: [el('label', { for: caption.id }, 'Caption'), caption, picker.node],
    send: 'Save',
    onSend: async () => {
      try {
        const add = await picker.upload();
        await ask('PUT', `/api/messages/${id}`, { text: caption.value, files: null, add });
        return null;
      } catch (error) {
        return el('p', { class: 'trouble', role: 'alert' }, error.message);
      }
    },
  });
}

/** A thread: the first message, its answers, and (among the clips) the form for a new take. */
export function threadNode({ room, me, channel, id, mayAnswer }) {
  const parts = new Map();
  const answers = el('div', { class: 'answers' });
  const form = mayAnswer
    ? el(
        'details',
        { class: 'retake' },
        el('summary', {}, 'Answer with a new take'),
        postForm({ room, channel, thread: id, onPosted: () => form.removeAttribute('open') }),
      )
    : null;
  const node = el('section', { class: 'thread', 'data-thread': id }, answers, form);
  return {
    node,
    has: (message) => parts.has(message),
    update(message) {
      if (message.id === id) node.setAttribute('aria-label', `Thread of ${message.author.name}`);
      let part = parts.get(message.id);
      if (part === undefined) {
        part = messageNode(message.id === id ? 'h2' : 'h3', room);
        parts.set(message.id, part);
        if (message.id === id) node.prepend(part.node);
        else {
          const later = [...answers.children].find((other) => Number(other.id.slice(1)) > Number(message.id));
          answers.insertBefore(part.node, later ?? null);
        }
      }
      part.update(message, me);
    },
    remove(message) {
      parts.get(message)?.node.remove();
      parts.delete(message);
    },
  };
}

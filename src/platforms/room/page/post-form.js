// Choosing clips and posting them: at the top of the clips, inside a thread, or into a post that stands.
import { el, megabytes, nonce } from './dom.js';
import { ask, upload } from './net.js';

/** A place to choose or drop clips. `upload` sends what is chosen and resolves to the keys under which to post it; `clear` starts anew. */
export function clipPicker({ room, id, label, most = 10 }) {
  const chosen = [];
  const list = el('ul', { class: 'chosen', 'aria-label': 'Chosen clips' });
  const trouble = el('p', { class: 'trouble', role: 'alert' });
  const progress = el('progress', { max: 1, value: 0, 'aria-label': 'Upload' });
  const said = el('span', { class: 'quiet', role: 'status' });
  const under = el('div', { class: 'row', hidden: true }, progress, said);
  const picker = el('input', {
    type: 'file',
    id: `${id}-file`,
    accept: 'video/*',
    multiple: true,
    onchange: () => take([...picker.files]),
  });
  const node = el(
    'div',
    { class: 'drop' },
    el('label', { for: picker.id }, label),
    picker,
    el('p', { class: 'quiet' }, `or drop it here. Up to ${megabytes(room.maxUploadBytes)} each; several are fine.`),
    list,
    trouble,
    under,
  );

  function show() {
    list.replaceChildren(
      ...chosen.map((file, i) => {
        const leaveOut = () => {
          chosen.splice(i, 1);
          show();
          picker.focus();
        };
        const props = { type: 'button', class: 'small', 'aria-label': `Leave out ${file.name}`, onclick: leaveOut };
        return el('li', {}, `${file.name} (${megabytes(file.size)}) `, el('button', props, 'Leave out'));
      }),
    );
  }
  function take(files) {
    trouble.textContent = '';
    for (const file of files) {
      if (file.size > room.maxUploadBytes)
        trouble.textContent = `${file.name} has ${megabytes(file.size)}; this room takes up to ${megabytes(room.maxUploadBytes)}. Trim the clip to the lift first.`;
      else if (file.size === 0) trouble.textContent = `${file.name} is empty.`;
      else if (chosen.length < most) chosen.push(file);
      else trouble.textContent = 'Ten clips in a post are the most.';
    }
    picker.value = '';
    show();
  }
  for (const kind of ['dragenter', 'dragover', 'dragleave', 'drop'])
    node.addEventListener(kind, (event) => {
      event.preventDefault();
      node.classList.toggle('over', kind === 'dragenter' || kind === 'dragover');
      if (kind === 'drop') take([...event.dataTransfer.files]);
    });

  return {
    node,
    isEmpty: () => chosen.length === 0,
    refuse(text) {
      trouble.textContent = text;
      picker.focus();
    },
    async upload() {
      const keys = [];
      const total = chosen.reduce((sum, file) => sum + file.size, 0);
      let before = 0;
      trouble.textContent = '';
      under.hidden = chosen.length === 0;
      progress.value = 0;
      try {
        for (const [i, file] of chosen.entries()) {
          said.textContent = chosen.length > 1 ? `Sending ${i + 1} of ${chosen.length}…` : 'Sending…';
          keys.push(
            await upload(file, (share) => {
              progress.value = (before + share * file.size) / total;
            }),
          );
          before += file.size;
        }
        return keys;
      } finally {
        under.hidden = true;
        said.textContent = '';
      }
    },
    clear() {
      chosen.length = 0;
      show();
    },
  };
}

/** How long it stands that a clip was posted (chosen: long enough to be read); the post itself shows it from then on. */
const saidForMs = 5000;

/** A form that posts into `thread` (null opens a new one). `room` is what /api/people told. */
export function postForm({ room, channel, thread, onPosted }) {
  const id = thread === null ? 'new' : `re${thread}`;
  const trouble = el('p', { class: 'trouble', role: 'alert' });
  const said = el('span', { class: 'quiet', role: 'status' });
  const caption = el('textarea', { id: `${id}-caption`, rows: 2, maxLength: 4000, 'aria-describedby': `${id}-hint` });
  const picker = clipPicker({ room, id, label: thread === null ? 'Choose a clip' : 'Choose the new take' });
  let attempt = nonce();
  let isBusy = false;

  async function post(keysOf, text) {
    if (isBusy) return;
    isBusy = true;
    trouble.textContent = '';
    said.textContent = '';
    try {
      await ask('POST', '/api/messages', { channel, thread, text, files: await keysOf(), nonce: attempt });
      attempt = nonce();
      caption.value = '';
      picker.clear();
      said.textContent = 'Posted.';
      setTimeout(() => (said.textContent = ''), saidForMs);
      onPosted?.();
    } catch (error) {
      trouble.textContent = error.message;
    }
    isBusy = false;
  }
  const sample = async () => [(await ask('POST', '/api/files/sample')).key];

  return el(
    'form',
    {
      class: 'post',
      'aria-label': thread === null ? 'Post a clip' : 'Answer with a new take',
      onsubmit: (event) => {
        event.preventDefault();
        if (picker.isEmpty() && caption.value.trim() === '') picker.refuse('Choose a clip first, or write something.');
        else post(picker.upload, caption.value);
      },
    },
    picker.node,
    el('label', { for: caption.id }, 'Caption'),
    el(
      'p',
      { class: 'quiet', id: `${id}-hint` },
      'Lift, load and reps, for example “Squat 100 kg x 5”, and what you would like to know.',
    ),
    caption,
    el(
      'div',
      { class: 'row' },
      el('button', { type: 'submit', class: 'good' }, thread === null ? 'Post to the room' : 'Post the new take'),
      thread === null && room.sample !== null
        ? el('button', { type: 'button', onclick: () => post(sample, room.sample) }, 'Try the sample clip')
        : null,
      said,
    ),
    trouble,
  );
}

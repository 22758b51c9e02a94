// The form by which a clip is posted, at the top of the clips or inside a thread.
import { el, megabytes, nonce } from './dom.js';
import { ask, upload } from './net.js';

/** A form that posts into `thread` (null opens a new one). `room` is what /api/people told. */
export function postForm({ room, channel, thread, onPosted }) {
  const chosen = [];
  const id = thread === null ? 'new' : `re${thread}`;
  const list = el('ul', { class: 'chosen', 'aria-label': 'Chosen clips' });
  const trouble = el('p', { class: 'trouble', role: 'alert' });
  const progress = el('progress', { max: 1, value: 0, 'aria-label': 'Upload', hidden: true });
  const said = el('span', { class: 'quiet', role: 'status' });
  const picker = el('input', {
    type: 'file',
    id: `${id}-file`,
    accept: 'video/*',
    multiple: true,
    onchange: () => take([...picker.files]),
  });
  const caption = el('textarea', { id: `${id}-caption`, rows: 2, maxLength: 4000, 'aria-describedby': `${id}-hint` });
  const send = el('button', { type: 'submit', class: 'good' }, thread === null ? 'Post to the room' : 'Post the new take');
  const drop = el(
    'div',
    { class: 'drop' },
    el('label', { for: picker.id }, thread === null ? 'Choose a clip' : 'Choose the new take'),
    picker,
    el('p', { class: 'quiet' }, `or drop it here. Up to ${megabytes(room.maxUploadBytes)} each; several are fine.`),
    list,
  );

  function show() {
    list.replaceChildren(
      ...chosen.map((file, i) =>
        el(
          'li',
          {},
          `${file.name} (${megabytes(file.size)}) `,
          el(
            'button',
            {
              type: 'button',
              class: 'small',
              'aria-label': `Leave out ${file.name}`,
              onclick: () => leaveOut(i),
            },
            'Leave out',
          ),
        ),
      ),
    );
  }
  function leaveOut(i) {
    chosen.splice(i, 1);
    show();
    picker.focus();
  }
  function take(files) {
    trouble.textContent = '';
    for (const file of files) {
      if (file.size > room.maxUploadBytes)
        trouble.textContent = `${file.name} has ${megabytes(file.size)}; this room takes up to ${megabytes(room.maxUploadBytes)}. Trim the clip to the lift first.`;
      else if (file.size === 0) trouble.textContent = `${file.name} is empty.`;
      else if (chosen.length < 10) chosen.push(file);
      else trouble.textContent = 'Ten clips at a time are the most.';
    }
    picker.value = '';
    show();
  }
  for (const kind of ['dragenter', 'dragover', 'dragleave', 'drop'])
    drop.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.toggle('over', kind === 'dragenter' || kind === 'dragover');
      if (kind === 'drop') take([...event.dataTransfer.files]);
    });

  let attempt = nonce();
  async function busy(work) {
    send.disabled = true;
    trouble.textContent = '';
    try {
      await work();
      attempt = nonce();
      caption.value = '';
      chosen.length = 0;
      show();
      said.textContent = 'Posted.';
      onPosted?.();
    } catch (error) {
      trouble.textContent = error.message;
      said.textContent = '';
    }
    progress.hidden = true;
    send.disabled = false;
  }
  const post = (files, text) => ask('POST', '/api/messages', { channel, thread, text, files, nonce: attempt });

  const form = el(
    'form',
    {
      class: 'post',
      'aria-label': thread === null ? 'Post a clip' : 'Answer with a new take',
      onsubmit: (event) => {
        event.preventDefault();
        if (chosen.length === 0 && caption.value.trim() === '') {
          trouble.textContent = 'Choose a clip first, or write something.';
          picker.focus();
          return;
        }
        busy(async () => {
          const keys = [];
          const total = chosen.reduce((sum, file) => sum + file.size, 0);
          let before = 0;
          progress.hidden = chosen.length === 0;
          progress.value = 0;
          for (const [i, file] of chosen.entries()) {
            said.textContent = chosen.length > 1 ? `Sending ${i + 1} of ${chosen.length}…` : 'Sending…';
            keys.push(
              await upload(file, (share) => {
                progress.value = (before + share * file.size) / total;
              }),
            );
            before += file.size;
          }
          await post(keys, caption.value);
        });
      },
    },
    drop,
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
      send,
      thread === null && room.sample !== null
        ? el(
            'button',
            {
              type: 'button',
              onclick: () => busy(async () => post([(await ask('POST', '/api/files/sample')).key], room.sample)),
            },
            'Try the sample clip',
          )
        : null,
      progress,
      said,
    ),
    trouble,
  );
  return form;
}

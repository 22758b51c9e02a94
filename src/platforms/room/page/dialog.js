// The page's one dialog: a form that keeps the keyboard inside, closes by Escape, and gives the keyboard's place back.
import { el } from './dom.js';

/**
 * Opens a form. `onSend` gets the form's element and resolves to null when all went well (the dialog closes) or to what went wrong, as a
 * node. `extra`: nodes above the buttons.
 */
export function openDialog({ title, intro, content, send, onSend }) {
  const dialog = document.getElementById('dialog');
  const back = document.activeElement;
  const home = back?.closest('[tabindex="-1"]');
  const trouble = el('div', { 'aria-live': 'polite' });
  const sender = el('button', { type: 'submit', class: 'good' }, send);
  let isBusy = false;
  const form = el(
    'form',
    {
      onsubmit: async (event) => {
        event.preventDefault();
        if (isBusy) return;
        isBusy = true;
        sender.setAttribute('aria-disabled', 'true');
        const wrong = await onSend(form);
        isBusy = false;
        sender.removeAttribute('aria-disabled');
        // Another form may have taken the dialog's place.
        if (!dialog.contains(form)) return;
        if (wrong === null) dialog.close();
        else trouble.replaceChildren(wrong);
      },
    },
    el('h2', { id: 'dialog-title' }, title),
    intro ? el('p', { class: 'quiet' }, intro) : null,
    content,
    trouble,
    el('div', { class: 'row' }, sender, el('button', { type: 'button', onclick: () => dialog.close() }, 'Cancel')),
  );
  dialog.replaceChildren(form);
  dialog.onclose = () => {
    // What was pressed may have been replaced meanwhile; its message is the next best place. An answer that took the place keeps it.
    if (document.activeElement !== null && document.activeElement !== document.body) return;
    if (back?.isConnected) back.focus();
    else if (home?.isConnected) home.focus();
  };
  if (!dialog.open) dialog.showModal();
  else form.querySelector('input, select, textarea')?.focus();
  return dialog;
}

// One channel: its threads, kept up to date.
import { el } from './dom.js';
import { ask } from './net.js';
import { threadNode } from './thread.js';

/** What an empty channel says. */
const nothing = {
  clips: 'No clip here yet. Be the first.',
  coaches: 'Nothing waits here.',
  moderators: 'There is no report yet.',
};

/** A channel's threads as nodes that stay, and the switch of their order. `trouble` shows what went wrong. */
export function makeChannel({ room, me, trouble }, { id, kind, messages, older }) {
  const list = el('div', { class: 'threads' });
  const threads = new Map();
  const empty = el('p', { class: 'quiet empty' }, nothing[kind]);
  const more = el('button', { type: 'button', class: 'more' }, 'Show earlier posts');
  const memory = `order-${kind}`;
  // What waits is served in the order in which it came.
  let newestFirst = (localStorage.getItem(memory) ?? (kind === 'coaches' ? 'oldest' : 'newest')) === 'newest';
  const place = () => {
    const sorted = [...threads.keys()].sort((a, b) => (newestFirst ? b - a : a - b));
    // Only those out of place are moved: moving a playing clip stops it.
    let at = list.firstChild;
    for (const key of sorted) {
      const { node } = threads.get(key);
      if (node === at) at = at.nextSibling;
      else list.insertBefore(node, at);
    }
    empty.hidden = threads.size > 0;
    order.hidden = threads.size < 2;
    // Earlier posts come where the oldest stand.
    if (newestFirst) list.after(more);
    else list.before(more);
  };
  const choose = (event) => {
    newestFirst = event.target.value === 'newest';
    localStorage.setItem(memory, event.target.value);
    place();
  };
  const options = [
    ['newest', 'Newest first'],
    ['oldest', 'Oldest first'],
  ].map(([value, label]) => el('option', { value, selected: (value === 'newest') === newestFirst }, label));
  const order = el('label', { class: 'order' }, 'Order ', el('select', { onchange: choose }, options));
  const channel = {
    id,
    kind,
    order,
    node: el('div', {}, empty, list, more),
    update(message) {
      const start = Number(message.thread ?? message.id);
      let thread = threads.get(start);
      if (message.removed) {
        if (message.thread !== null) thread?.remove(message.id);
        else if (thread !== undefined) {
          thread.node.remove();
          threads.delete(start);
          place();
        }
        return;
      }
      if (thread === undefined) {
        if (message.thread !== null) return void fetchThread(message.thread);
        thread = threadNode({ room, me, channel: id, id: message.id, mayAnswer: kind === 'clips' });
        threads.set(start, thread);
        thread.update(message);
        place();
      } else thread.update(message);
    },
  };
  const fetchThread = async (start) => {
    const answer = await ask('GET', `/api/threads/${start}`).catch(() => ({ messages: [] }));
    for (const message of answer.messages) channel.update(message);
  };
  more.hidden = !older;
  more.onclick = async () => {
    try {
      const answer = await ask('GET', `/api/threads?channel=${encodeURIComponent(id)}&before=${Math.min(...threads.keys())}`);
      for (const message of answer.messages) channel.update(message);
      more.hidden = !answer.older;
    } catch (error) {
      trouble(error.message);
    }
  };
  channel.fetchThread = fetchThread;
  for (const message of messages) channel.update(message);
  place();
  return channel;
}

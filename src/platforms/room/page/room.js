// The room's page: who you are, which part you look at, and what comes in live.
import { commandList } from './acts.js';
import { el } from './dom.js';
import { ask, enter, follow } from './net.js';
import { postForm } from './post-form.js';
import { markWords, threadNode } from './thread.js';

const byId = (id) => document.getElementById(id);
const words = {
  clips: [
    'Clips',
    'Post a clip of a lift. The bot says whether it is filmed so that a coach can use it, and what to change if not.',
  ],
  coaches: ['Coaches’ list', 'Clips that are filmed well enough, and those that the bot was not sure about, wait here.'],
  moderators: [
    'Moderators’ desk',
    'See and tune what the bot asks for. Every command below answers you alone; reports arrive underneath.',
  ],
  ask: ['Ask the bot', 'Open what you want to know. The answer is for you alone.'],
};

let room = null;
let state = null;
let part = null;
let stopFollowing = () => {};
let marksBefore = new Map();
const channels = new Map();
let newestFirst = localStorage.getItem('order') !== 'oldest';

const say = (text) => {
  byId('news').append(el('p', {}, text));
  while (byId('news').children.length > 5) byId('news').firstChild.remove();
};
const trouble = (text) => {
  byId('trouble').textContent = text;
};

/** A channel's threads, in the order chosen, as nodes that stay. */
function makeChannel({ id, kind, messages, older }) {
  const list = el('div', { class: 'threads' });
  const threads = new Map();
  const empty = el('p', { class: 'quiet empty' }, kind === 'clips' ? 'No clip here yet. Be the first.' : 'Nothing waits here.');
  const more = el('button', { type: 'button', class: 'more' }, 'Show earlier posts');
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
  };
  const channel = {
    id,
    kind,
    node: el('div', {}, empty, list, more),
    place,
    threads,
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
        thread = threadNode({ room, me: state.me, channel: id, id: message.id, mayAnswer: kind === 'clips' });
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

/** Says aloud what is new: answers of the bot, and marks. */
function announce(message) {
  if (message.removed) return;
  const before = marksBefore.get(message.id);
  marksBefore.set(message.id, message.marks.join());
  const mark = message.marks.at(-1);
  if (mark !== undefined && before !== message.marks.join())
    say(`Mark on the post of ${message.author.name}: ${markWords(mark)}.`);
  const text = message.text.replaceAll('**', '').slice(0, 200);
  if (before === undefined && message.author.id !== state.me.id) say(`New from ${message.author.name}: ${text}`);
}

/** The switch between newest and oldest first. */
function orderSwitch() {
  const choose = (event) => {
    newestFirst = event.target.value === 'newest';
    localStorage.setItem('order', event.target.value);
    for (const channel of channels.values()) channel.place();
  };
  const options = [
    ['newest', 'Newest first'],
    ['oldest', 'Oldest first'],
  ];
  return el(
    'label',
    { class: 'order' },
    'Order ',
    el(
      'select',
      { onchange: choose },
      options.map(([value, label]) => el('option', { value, selected: (value === 'newest') === newestFirst }, label)),
    ),
  );
}

function show(next, focus) {
  part = next;
  const [title, intro] = words[next];
  byId('title').textContent = title;
  byId('intro').textContent = intro;
  document.title = `${title} · quarterview room`;
  trouble('');
  const channel = [...channels.values()].find((one) => one.kind === next);
  const clips = [...channels.values()].find((one) => one.kind === 'clips');
  const commands = () => commandList(state.commands, (channel ?? clips).id);
  byId('view').replaceChildren(
    ...{
      clips: () => [postForm({ room, channel: channel.id, thread: null }), orderSwitch(), channel.node],
      coaches: () => [orderSwitch(), channel.node],
      moderators: () => [commands(), el('h2', {}, 'Reports'), channel.node],
      ask: () => [commands()],
    }[next](),
  );
  for (const button of byId('parts').children) {
    if (button.value === next) button.setAttribute('aria-current', 'page');
    else button.removeAttribute('aria-current');
  }
  if (focus) byId('main').focus();
}

async function load() {
  stopFollowing();
  state = await ask('GET', '/api/state');
  channels.clear();
  marksBefore = new Map();
  for (const one of state.channels) {
    for (const message of one.messages) marksBefore.set(message.id, message.marks.join());
    channels.set(one.id, makeChannel(one));
  }
  const parts = state.channels.map((one) => one.kind);
  if (state.me.role !== 'moderator') parts.push('ask');
  byId('parts').replaceChildren(
    ...parts.map((value) => el('button', { type: 'button', value, onclick: () => show(value, true) }, words[value][0])),
  );
  show(parts.includes(part) ? part : parts[0], false);
  stopFollowing = follow(state.seq, {
    onMessage: (message) => {
      announce(message);
      channels.get(message.channel)?.update(message);
    },
    onReset: () => load().catch((error) => trouble(error.message)),
    onState: (open) => {
      byId('line').textContent = open ? 'Live' : 'Not connected. Trying again…';
      byId('line').dataset.open = open;
    },
  });
}

async function become(person) {
  sessionStorage.setItem('person', person);
  trouble('');
  try {
    await enter(person);
    await load();
  } catch (error) {
    trouble(error.message);
  }
}

/** Lists the names of the chosen role; members may add one. */
function listNames(chosen) {
  const role = new FormData(byId('who')).get('role');
  const names = room.people.filter((person) => person.role === role);
  byId('person').replaceChildren(
    ...names.map(({ id, name }) => el('option', { value: id, selected: id === chosen }, name)),
    role === 'member' ? el('option', { value: '' }, 'Someone else…') : '',
  );
}

async function addName() {
  const name = prompt('Your name in this room');
  const told = name === null ? null : await ask('POST', '/api/people', { name }).catch((error) => void trouble(error.message));
  if (told) room.people.push(told);
  listNames(told?.id ?? state.me.id);
  if (told) await become(told.id);
}

/** Follows an address like #m12 to the post, wherever it stands. */
async function followHash() {
  const id = /^#m(\d+)$/.exec(location.hash)?.[1];
  if (id === undefined) return;
  for (const channel of channels.values()) {
    if (!byId(`m${id}`) && !channel.node.querySelector(`#m${id}`)) await channel.fetchThread(id);
    const node = channel.node.querySelector(`#m${id}`);
    if (node === null) continue;
    show(channel.kind, false);
    node.scrollIntoView({ block: 'start' });
    node.focus();
    return;
  }
  trouble('That post is not here any more, or it is not for you.');
}

async function begin() {
  room = await ask('GET', '/api/people');
  byId('community').textContent = room.community;
  byId('local').textContent = room.local
    ? 'This room runs on your computer only: nothing you post leaves it. The people in it are invented.'
    : 'This room is shared over a network: whoever has its password can see what you post.';
  const was = room.people.find((person) => person.id === sessionStorage.getItem('person')) ?? room.people[0];
  byId('who').role.value = was.role;
  listNames(was.id);
  byId('who').addEventListener('submit', (event) => event.preventDefault());
  byId('who').addEventListener('change', (event) => {
    if (event.target.name === 'role') {
      listNames(null);
      part = null;
    }
    if (byId('person').value === '') addName();
    else become(byId('person').value);
  });
  await become(was.id);
  await followHash();
  addEventListener('hashchange', followHash);
}

begin().catch((error) => trouble(error.message));

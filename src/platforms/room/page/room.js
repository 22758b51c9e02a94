// The room's page: who you are, which part you look at, and what comes in live.
import { commandList } from './acts.js';
import { makeChannel } from './channel.js';
import { openDialog } from './dialog.js';
import { el } from './dom.js';
import { ask, enter, follow } from './net.js';
import { postForm } from './post-form.js';
import { markWords } from './thread.js';

const byId = (id) => document.getElementById(id);
/** Parts of the page by name: heading, a sentence, and the role whose commands stand there. */
const words = {
  clips: [
    'Clips',
    'Post a clip of a lift. The bot says whether it is filmed so that a coach can use it, and what to change if not.',
    null,
  ],
  coaches: ['Coaches’ list', 'Clips that are filmed well enough, and those that the bot was not sure about, wait here.', 'coach'],
  moderators: [
    'Moderators’ desk',
    'See and tune what the bot asks for. What you ask is answered to you alone; reports arrive underneath.',
    'moderator',
  ],
  ask: ['Ask the bot', 'The answer is for you alone.', 'member'],
};

let room = null;
let state = null;
let part = null;
let stopFollowing = () => {};
let marksBefore = new Map();
const channels = new Map();
const parts = new Map();

const say = (text) => {
  byId('news').append(el('p', {}, text));
  while (byId('news').children.length > 5) byId('news').firstChild.remove();
};
const trouble = (text) => {
  byId('trouble').textContent = text;
};

/** Says aloud what is new: answers of the bot, and marks. */
function announce(message) {
  if (message.removed) return;
  const before = marksBefore.get(message.id);
  marksBefore.set(message.id, message.marks.join());
  const mark = message.marks.at(-1);
  if (mark !== undefined && before !== message.marks.join())
    say(`Mark on the post of ${message.author.name}: ${markWords(mark)}.`);
  const text = message.text.replaceAll('**', '').slice(0, 200); // chosen: a screen reader says it in one go
  if (before === undefined && message.author.id !== state.me.id) say(`New from ${message.author.name}: ${text}`);
}

/** The nodes of a part; made once, so that an answer stays while another part is looked at. */
function makePart(name) {
  const channel = [...channels.values()].find((one) => one.kind === name);
  const clips = [...channels.values()].find((one) => one.kind === 'clips');
  const commands = commandList(
    state.commands.filter(({ role }) => role === words[name][2]),
    (channel ?? clips).id,
  );
  const nothing = name === 'ask' ? el('p', { class: 'quiet' }, 'There is nothing to ask here yet.') : null;
  const form = name === 'clips' ? postForm({ room, channel: channel.id, thread: null }) : null;
  const heading = name === 'moderators' && commands !== null ? el('h2', {}, 'Reports') : null;
  return el('div', {}, form, commands ?? nothing, heading, channel?.order, channel?.node);
}

function show(next, focus) {
  part = next;
  const [title, intro] = words[next];
  byId('title').textContent = title;
  byId('intro').textContent = intro;
  document.title = `${title} · ${room.community}`;
  trouble('');
  if (!parts.has(next)) parts.set(next, makePart(next));
  byId('view').replaceChildren(parts.get(next));
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
  parts.clear();
  marksBefore = new Map();
  for (const one of state.channels) {
    for (const message of one.messages) marksBefore.set(message.id, message.marks.join());
    channels.set(one.id, makeChannel({ room, me: state.me, trouble }, one));
  }
  const names = [...state.channels.map((one) => one.kind), 'ask'];
  byId('parts').replaceChildren(
    ...names.map((value) => el('button', { type: 'button', value, onclick: () => show(value, true) }, words[value][0])),
  );
  show(names.includes(part) ? part : names[0], false);
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

function addName() {
  // 40 characters: as in api.ts
  const name = el('input', { type: 'text', id: 'new-name', maxLength: 40, required: true, autocomplete: 'off' });
  const dialog = openDialog({
    title: 'Your name in this room',
    content: [el('label', { for: name.id }, 'Name'), name],
    send: 'Come in',
    onSend: async () => {
      try {
        const told = await ask('POST', '/api/people', { name: name.value });
        room.people.push(told);
        listNames(told.id);
        await become(told.id);
        return null;
      } catch (error) {
        return el('p', { class: 'trouble', role: 'alert' }, error.message);
      }
    },
  });
  dialog.addEventListener('close', () => listNames(state.me.id), { once: true });
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
  byId('local').textContent = room.shared
    ? 'This room is shared over a network: whoever has its password can see what you post.'
    : 'This room runs on your computer only: nothing you post leaves it. The people in it are invented.';
  const was = room.people.find((person) => person.id === sessionStorage.getItem('person')) ?? room.people[0];
  byId('who').hidden = room.shared;
  byId('leave').hidden = !room.shared;
  byId('me').textContent = `${was.name}, ${was.role}`;
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

// Small building blocks: elements are made from text and nodes, never from markup.

/** An element; `props` are properties, or attributes when they hold a dash or are named role, for, class or list. */
export function el(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith('on')) node.addEventListener(name.slice(2), value);
    else if (name.includes('-') || ['role', 'for', 'class'].includes(name)) node.setAttribute(name, value);
    else node[name] = value;
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

/** Addresses, and those of posts of a room: the latter lead to the post in this page, by whatever name the bot knows the room. */
const address = /(https?:\/\/[^\s<>"]*[^\s<>".,;:!?)])/;
const ofPost = /^https?:\/\/[^/]+\/(#m\d+)$/;

/** **bold** and plain addresses of one line become nodes; all else stays text. */
function marked(line) {
  const nodes = [];
  for (const [i, part] of line.split(/\*\*([^*]+)\*\*/).entries()) {
    if (i % 2 === 1) nodes.push(el('strong', {}, part));
    else
      for (const [j, piece] of part.split(address).entries()) {
        const post = j % 2 === 1 ? ofPost.exec(piece)?.[1] : undefined;
        if (j % 2 === 0) nodes.push(piece);
        else if (post !== undefined) nodes.push(el('a', { href: post }, 'Open the post'));
        else nodes.push(el('a', { href: piece, rel: 'noopener noreferrer' }, piece));
      }
  }
  return nodes;
}

/** The bot's text in its small markup, a block a line; numbered and dotted lines hang, so that long lists can be read. */
export function lines(text) {
  return text.split('\n').map((line) => {
    const kinds = { gap: /^$/, hang: /^(\*\*)?\d+\.\s/, dot: /^[-–•·]\s/, under: /^ {2}/ };
    const kind = Object.keys(kinds).find((name) => kinds[name].test(line)) ?? null;
    return el('div', { class: kind }, marked(line.trimStart()));
  });
}

/** Puts `next` in place of what `slot` holds, unless it would look the same; the keyboard's place is kept by the control's label. */
export function refill(slot, state, make) {
  const text = JSON.stringify(state);
  if (slot.dataset.state === text) return;
  slot.dataset.state = text;
  const held = slot.contains(document.activeElement) ? document.activeElement.textContent : null;
  slot.replaceChildren(...[make()].flat().filter((node) => node !== null));
  if (held !== null) {
    const twin = [...slot.querySelectorAll('button, a, summary')].find((node) => node.textContent === held);
    (twin ?? slot.closest('[tabindex]'))?.focus();
  }
}

/** A time of day, with the date when it was not today. */
export function when(ms) {
  const then = new Date(ms);
  const today = then.toDateString() === new Date().toDateString();
  const text = then.toLocaleString(undefined, today ? { timeStyle: 'short' } : { dateStyle: 'medium', timeStyle: 'short' });
  return el('time', { dateTime: then.toISOString() }, text);
}

/** A nonce for one press or post; works on plain http too. */
export function nonce() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Bytes as people say them. */
export function megabytes(bytes) {
  return `${(bytes / 1e6).toFixed(bytes < 1e7 ? 1 : 0)} MB`;
}

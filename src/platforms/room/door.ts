import { createHash, randomBytes, scrypt, timingSafeEqual } from 'node:crypto';
import { promisify } from 'node:util';
import type { Context } from 'hono';
import { deleteCookie, getCookie, setCookie } from 'hono/cookie';
import type { Person } from '../port.ts';
import { botPerson, personOf, type Role } from './people.ts';
import type { RoomStore } from './store.ts';
import { cleanName, cleanText } from './text.ts';
import { countTries } from './tries.ts';

/** Who may come into a shared room: one password a role, null where the role is not offered. */
export type Passwords = Record<Role, string | null>;

/** Shortest own word, in characters. Chosen: it guards a display name, behind a limit of wrong tries. */
const minWord = 6;

/** Most visitors known at once; the first who came are asked again. Chosen. */
const maxPasses = 2000;

/** Names that people of a shared room may make. Chosen, a bound for memory and file. */
const maxPeople = 2000;

const derive = promisify<string, Buffer, number, Buffer>(scrypt);

/** Whether two secrets are the same, in a time that does not tell how much of them is. */
function same(a: string, b: string): boolean {
  const hash = (text: string) => createHash('sha256').update(text).digest();
  return timingSafeEqual(hash(a), hash(b));
}

async function hashOf(word: string, salt = randomBytes(16)): Promise<string> {
  return `${salt.toString('hex')}:${(await derive(word, salt, 32)).toString('hex')}`;
}

/** What the door says to a knock: come in, or what was not right, for people to read. */
export type Knock = { status: 'in' } | { status: 'wrong' | 'shut' | 'incomplete'; sentence: string };

/**
 * The door of a shared room. The password tells the role, so that nobody is a coach or moderator who was not given theirs; name and own word
 * tell the person, so that nobody is someone else. Without passwords (a room for this computer only) it stands open.
 */
export function makeDoor(passwords: Passwords, store: RoomStore, now: () => number) {
  const passes = new Map<string, Person>();
  const isShared = Object.values(passwords).some((password) => password !== null);
  const tries = countTries(now);
  const roleOf = (attempt: string): Role | null => {
    // All are compared, whichever is right.
    const right = (Object.entries(passwords) as [Role, string | null][]).filter(([, one]) => one !== null && same(attempt, one));
    return right[0]?.[0] ?? null;
  };

  return {
    isShared,
    /** The person who came in by this door; null for a stranger, and for everybody where it stands open. */
    visitor: (c: Context): Person | null => (isShared ? (passes.get(getCookie(c, 'room_pass') ?? '') ?? null) : null),
    /** Judges who knocks and sets the cookie that lets them in. `address`: where the knock comes from, see tries.ts. */
    async knock(c: Context, address: string, said: { password: string; name: string; word: string }): Promise<Knock> {
      if (!isShared) return { status: 'in' };
      const refused = (sentence: string): Knock => {
        tries.wrong(address);
        return { status: 'wrong', sentence };
      };
      if (!tries.mayTry(address)) return { status: 'shut', sentence: 'Too many wrong tries. Please wait half a minute.' };
      const role = roleOf(said.password);
      if (role === null) return refused('That is no password of this room. Please try again.');
      const name = cleanName(said.name, 40, '');
      const word = cleanText(said.word).trim();
      if (name === '') return { status: 'incomplete', sentence: 'Please type your name.' };
      if (word.length < minWord)
        return { status: 'incomplete', sentence: `Please choose a word of your own with ${minWord} characters or more.` };
      const fresh = await hashOf(word);
      const known = store.named(name);
      let person = known?.person ?? null;
      if (known !== null) {
        const [salt = ''] = (known.word ?? '').split(':');
        const isOwn = known.word !== null && same(known.word, await hashOf(word, Buffer.from(salt, 'hex')));
        if (!isOwn)
          return refused('Someone here has that name, and this is not their word. Type your word, or choose another name.');
        if (known.person.groups[0] !== role)
          return refused(`You are a ${known.person.groups[0]} here. Type that password, or choose another name.`);
      } else {
        if (name.toLowerCase() === botPerson.name) return { status: 'incomplete', sentence: 'That is the name of the bot.' };
        if (store.people().length >= maxPeople)
          return { status: 'incomplete', sentence: 'This room has as many names as it takes.' };
        person = personOf(`guest-${store.seq + 1}`, name, role);
        store.addPerson(person, fresh);
      }
      tries.cameIn(address);
      const pass = randomBytes(24).toString('base64url');
      if (person !== null) passes.set(pass, person);
      if (passes.size > maxPasses) passes.delete(passes.keys().next().value ?? '');
      const secure = (c.req.header('origin') ?? '').startsWith('https:');
      setCookie(c, 'room_pass', pass, { httpOnly: true, sameSite: 'Strict', path: '/', secure });
      return { status: 'in' };
    },
    leave(c: Context): void {
      passes.delete(getCookie(c, 'room_pass') ?? '');
      deleteCookie(c, 'room_pass', { path: '/' });
    },
  };
}

/** Why these passwords cannot be, null when they can. */
export function passwordTrouble(passwords: Passwords, isExposed: boolean): string | null {
  const set = Object.values(passwords).filter((password) => password !== null);
  if (passwords.member === null && isExposed) return 'others can reach the room, and it has no password';
  if (passwords.member === null && set.length > 0) return 'coaches or moderators have a password, and the room itself has none';
  if (new Set(set).size < set.length) return 'two roles have the same password';
  return null;
}

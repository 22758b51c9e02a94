import type { Person } from '../port.ts';

/** What a person is in the room; carried in `Person.groups`. */
export type Role = 'member' | 'coach' | 'moderator';

/** The three channels of a room, by what they are for. Ids as the bot's settings name them. */
export interface RoomChannels {
  /** Where members post their clips (the watched channel). */
  clips: string;
  /** Where the coaches' cards arrive. */
  coaches: string;
  /** Where the moderators' reports arrive. */
  moderators: string;
}

/** A person of the room; `id` is what the bot stores. */
export function personOf(id: string, name: string, role: Role): Person {
  return { platform: 'room', id, name, groups: [role], isBot: false };
}

/** The invented people of Millrace Barbell whom a newcomer can be. */
export const millracePeople: Person[] = [
  personOf('juno', 'Juno', 'member'),
  personOf('tamsin', 'Tamsin', 'member'),
  personOf('odo', 'Odo', 'member'),
  personOf('pell', 'Pell', 'member'),
  personOf('brannock', 'Brannock', 'coach'),
  personOf('ilse', 'Ilse', 'coach'),
  personOf('wren', 'Wren', 'moderator'),
];

/** The bot as an author. */
export const botPerson: Person = { platform: 'room', id: 'quarterview', name: 'quarterview', groups: [], isBot: true };

/** Channels that a person may read, in the order in which the page shows them. Members never see the coaches' cards. */
export function readable(person: Person, channels: RoomChannels): string[] {
  if (person.groups.includes('moderator')) return [channels.moderators, channels.coaches, channels.clips];
  if (person.groups.includes('coach')) return [channels.coaches, channels.clips];
  return [channels.clips];
}

/** Whether a person is this or more: a moderator may do what a coach may, and a coach what a member may. */
export function isAtLeast(person: Person, role: Role): boolean {
  if (role === 'member' || person.groups.includes('moderator')) return true;
  return role === 'coach' && person.groups.includes('coach');
}

import type { Action, ActionReply, Command, OutgoingMessage, Person } from '../../platforms/port.ts';
import type { BotDeps } from '../deps.ts';

/** Who may do something: anyone who may read the channel, the coaches and moderators, or the moderators alone. */
export type Who = 'anyone' | 'coach' | 'moderator';

/** What a use case works with. */
export interface Ask {
  deps: BotDeps;
  /** The act as it came; its `pressId` is a good id for what it makes, so that a press that comes twice makes one. */
  action: Action;
  person: Person;
  /** What stands after the use case's id in the id of a button, choice or form: `take:room-clips-1-a` has one, the submission. */
  args: string[];
  /** Wakes whoever does acts and moves submissions on; call it after planning some. */
  kick(): void;
}

/** One thing that people can do by a command, a button, a choice or a form. One file each, listed in index.ts. */
export interface UseCase {
  /** Begins the ids of its buttons, choices and forms, up to the first colon; also its name in settings `people.may`. */
  id: string;
  /** Who may, unless settings say otherwise. Whose clip it is, the use case checks itself. */
  who: Who;
  /** The command that starts it, if there is one; `command.name` is matched as well. */
  command?: Command;
  /** What the audit names; the first argument unless given. No free text. */
  subject?(ask: Ask): string;
  run(ask: Ask): Promise<ActionReply>;
}

/** An answer that only this person sees. */
export function privately(text: string, more: Partial<OutgoingMessage> = {}): ActionReply {
  return { kind: 'private', message: { text, files: [], buttons: [], choices: [], mention: null, ...more } };
}

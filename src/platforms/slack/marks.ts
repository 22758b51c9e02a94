import type { Mark, MessageRef } from '../port.ts';
import type { SlackApi } from './api.ts';
import { slackErrorOf } from './errors.ts';

/** Sets exactly the given marks as reactions of the bot; other people's reactions and other emoji of the bot stay. */
export function createMarks(api: SlackApi, emoji: Record<Mark, string>, botUserId: () => string | null) {
  const ours = [...new Set(Object.values(emoji))];

  async function reacted(message: MessageRef, signal: AbortSignal): Promise<Set<string>> {
    const answer = await api.patiently(signal, (web) =>
      web.reactions.get({ channel: message.channel, timestamp: message.message, full: true }),
    );
    const reactions = answer.type === 'message' ? (answer.message?.reactions ?? []) : [];
    const me = botUserId();
    const mine = reactions.filter((reaction) => me !== null && (reaction.users ?? []).includes(me));
    return new Set(mine.map((reaction) => reaction.name!).filter((name) => ours.includes(name)));
  }

  /** A reaction that is there already, or gone already, is what was asked for. */
  async function change(kind: 'add' | 'remove', message: MessageRef, name: string, signal: AbortSignal): Promise<void> {
    try {
      await api.patiently(signal, (web) => web.reactions[kind]({ channel: message.channel, timestamp: message.message, name }));
    } catch (error) {
      if (slackErrorOf(error) !== (kind === 'add' ? 'already_reacted' : 'no_reaction')) throw error;
    }
  }

  return async function setMarks(message: MessageRef, marks: Mark[], signal: AbortSignal): Promise<void> {
    const wanted = new Set(marks.map((mark) => emoji[mark]));
    const present = await reacted(message, signal);
    for (const name of wanted) if (!present.has(name)) await change('add', message, name, signal);
    for (const name of present) if (!wanted.has(name)) await change('remove', message, name, signal);
  };
}

import type { ActionReply } from '../../../platforms/port.ts';
import type { ModeratorWords } from '../../../wording/moderator-words.ts';
import { quoted } from '../../quoted.ts';
import type { Ask } from '../use-case.ts';

const longestReason = 300; // chosen: two or three sentences

/** Asks why, under the id of the act itself. */
export function reasonForm({ action }: Ask, title: string, { reason: label, hint }: ModeratorWords['reasonForm']): ActionReply {
  const field = { id: 'reason', label, hint, required: true, kind: 'text', lines: 'many', maxLength: longestReason } as const;
  return { kind: 'form', form: { id: action.id, title, fields: [field] } };
}

/** What was given as the reason, on one line; empty for none. */
export const reasonGiven = ({ action }: Ask) => quoted(action.values.reason ?? '', longestReason);

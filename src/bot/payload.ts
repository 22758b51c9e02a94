import { createHash } from 'node:crypto';
import { z } from 'zod';
import type { NewAct, Submission } from '../ledger/port.ts';
import type { MessageRef, OutgoingMessage } from '../platforms/port.ts';

const Ref = z.strictObject({
  platform: z.enum(['discord', 'slack', 'room']),
  channel: z.string(),
  message: z.string(),
  thread: z.string().nullable(),
});
const Labelled = z.strictObject({ value: z.string(), label: z.string() });
const Message = z.strictObject({
  text: z.string(),
  files: z.array(z.strictObject({ path: z.string(), name: z.string(), alt: z.string().nullable() })),
  buttons: z.array(z.strictObject({ id: z.string(), label: z.string(), style: z.enum(['plain', 'good', 'danger']) })),
  choices: z.array(z.strictObject({ id: z.string(), label: z.string(), options: z.array(Labelled) })),
  mention: z.string().nullable(),
});

/** What an act does, as the ledger keeps it. */
export const Payload = z.discriminatedUnion('do', [
  z.strictObject({
    do: z.literal('post'),
    platform: Ref.shape.platform,
    to: z.strictObject({ channel: z.string(), message: Ref.nullable() }),
    message: Message,
  }),
  /** Sets the marks that the message should have when the act is done. */
  z.strictObject({ do: z.literal('marks'), on: Ref }),
  /** Shows that a clip waits, if it still does when the act is done. */
  z.strictObject({ do: z.literal('progress'), on: Ref }),
  /** Makes what the act of this key posted say something else. */
  z.strictObject({ do: z.literal('edit'), platform: Ref.shape.platform, posted: z.string(), message: Message }),
  /** Removes a post of ours, or our marks from a message, of which the ledger knows nothing else any more. */
  z.strictObject({ do: z.literal('erase'), what: z.enum(['post', 'marks']), on: Ref }),
  /** Removes what the act of this key posted. */
  z.strictObject({ do: z.literal('remove'), platform: Ref.shape.platform, posted: z.string() }),
]);
export type Payload = z.infer<typeof Payload>;

/** A message of text alone. */
export function plain(text: string): OutgoingMessage {
  return { text, files: [], buttons: [], choices: [], mention: null };
}

/** Key of the act that shows a clip's progress. */
export const progressKey = (id: string) => `progress/${id}`;

/** An act that belongs to a submission, in its thread's lane unless `lane` says otherwise. */
export function actFor(
  s: Pick<Submission, 'id' | 'lane'>,
  key: string,
  payload: Payload,
  more: { essential?: boolean; lane?: string } = {},
): NewAct {
  return { key, lane: more.lane ?? s.lane, submission: s.id, payload, essential: more.essential ?? false };
}

/** Removes the message that shows a clip's progress. */
export const progressRemoval = (s: Pick<Submission, 'id' | 'lane'>, platform: MessageRef['platform']): NewAct =>
  actFor(s, `remove/${progressKey(s.id)}`, { do: 'remove', platform, posted: progressKey(s.id) });

/** Sets the marks of a message anew; `why` makes the key. */
export function marksAct(s: Pick<Submission, 'id' | 'lane'>, on: MessageRef, why: string): NewAct {
  return actFor(s, `marks/${s.id}/${why}/${on.message}`, { do: 'marks', on });
}

/** Removes what a forgotten clip left on its platform; `of` makes the key, which does not tell it. Nothing stays of this act when it has ended. */
export function erasing(on: MessageRef, what: 'post' | 'marks', of: string): NewAct {
  const key = `forget/${createHash('sha256').update(`${what} ${of}`).digest('hex')}`;
  const payload: Payload = { do: 'erase', what, on };
  return { key, lane: key, submission: null, payload, essential: false };
}

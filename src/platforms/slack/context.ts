import type { MessageRef } from '../port.ts';

/** What a form carries along in `private_metadata`: where it was opened, and the message whose button opened it, if all can see that. */
export interface FormContext {
  channel: string;
  /** The thread in which its answer is shown. */
  thread: string | null;
  where: MessageRef | null;
}

export function packContext({ channel, thread, where }: FormContext): string {
  return JSON.stringify(where === null ? [channel, null, null, thread] : [channel, where.channel, where.message, where.thread]);
}

/** Reads what {@link packContext} wrote; null when it is something else. */
export function unpackContext(text: string): FormContext | null {
  try {
    const [channel, whereChannel, message, thread = null] = JSON.parse(text) as (string | null)[];
    if (typeof channel !== 'string') return null;
    if (typeof whereChannel !== 'string' || typeof message !== 'string') return { channel, thread, where: null };
    return { channel, thread, where: { platform: 'slack', channel: whereChannel, message, thread } };
  } catch {
    return null;
  }
}

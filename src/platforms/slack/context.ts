import type { MessageRef } from '../port.ts';

/** What a form carries along in `private_metadata`: where it was opened, and the message whose button opened it. */
export interface FormContext {
  channel: string;
  where: MessageRef | null;
}

export function packContext(context: FormContext): string {
  const { channel, where } = context;
  return JSON.stringify(where === null ? [channel] : [channel, where.channel, where.message, where.thread]);
}

/** Reads what {@link packContext} wrote; null when it is something else. */
export function unpackContext(text: string): FormContext | null {
  try {
    const [channel, whereChannel, message, thread] = JSON.parse(text) as (string | null)[];
    if (typeof channel !== 'string') return null;
    if (typeof whereChannel !== 'string' || typeof message !== 'string') return { channel, where: null };
    return { channel, where: { platform: 'slack', channel: whereChannel, message, thread: thread ?? null } };
  } catch {
    return null;
  }
}

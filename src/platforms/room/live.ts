import type { Person } from '../port.ts';
import { type RoomChannels, readable } from './people.ts';
import type { RoomStore, StoredMessage } from './store.ts';
import { viewOf } from './view.ts';

/** Milliseconds between two signs of life on a quiet line. Chosen: proxies cut one after a minute or so (from memory). */
const heartbeatMs = 15_000;

/** Events that may wait for a slow reader before its line is cut; it comes back and asks for what it missed. Chosen. */
const maxWaiting = 500;

/**
 * The room's server-sent events. The id of an event is the store's count, so that a reader who comes back with the last id it saw gets every message
 * that changed since, once, in its latest state.
 */
export function makeLive(store: RoomStore, channels: RoomChannels) {
  const readers = new Set<{ person: Person; send: (text: string) => void; close: () => void }>();
  const eventOf = (message: StoredMessage) => `id: ${message.rev}\nevent: message\ndata: ${JSON.stringify(viewOf(message))}\n\n`;
  const sees = (person: Person, message: StoredMessage) => readable(person, channels).includes(message.channel);
  const unwatch = store.watch((message) => {
    const text = eventOf(message);
    for (const reader of readers) if (sees(reader.person, message)) reader.send(text);
  });
  const heartbeat = setInterval(() => {
    // Also finds what another process wrote.
    store.refresh();
    for (const reader of readers) reader.send(': here\n\n');
  }, heartbeatMs);
  heartbeat.unref();

  return {
    /** A stream of what changed after the count `after` in the channels that this person may read, and of what changes from now on. */
    open(person: Person, after: number): Response {
      let reader: { person: Person; send: (text: string) => void; close: () => void } | null = null;
      const encoder = new TextEncoder();
      const body = new ReadableStream<Uint8Array>(
        {
          start(controller) {
            const close = () => {
              if (reader !== null && readers.delete(reader)) controller.close();
            };
            const send = (text: string) => {
              if ((controller.desiredSize ?? 0) <= 0) return close();
              controller.enqueue(encoder.encode(text));
            };
            reader = { person, send, close };
            readers.add(reader);
            controller.enqueue(encoder.encode('retry: 1000\n\n'));
            if (after > store.seq) return send('event: reset\ndata: {}\n\n');
            const missed = store.messages().filter((message) => message.rev > after && sees(person, message));
            controller.enqueue(
              encoder.encode(
                missed
                  .sort((a, b) => a.rev - b.rev)
                  .map(eventOf)
                  .join(''),
              ),
            );
          },
          cancel() {
            if (reader !== null) readers.delete(reader);
          },
        },
        { highWaterMark: maxWaiting },
      );
      return new Response(body, { headers: { 'content-type': 'text/event-stream', 'x-accel-buffering': 'no' } });
    },
    stop(): void {
      clearInterval(heartbeat);
      unwatch();
      for (const reader of [...readers]) reader.close();
    },
  };
}

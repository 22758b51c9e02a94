import type { NewSubmission } from '../../src/ledger/port.ts';

/** A clip of Juno's in the room. */
export const submission = (id: string, change: Partial<NewSubmission> = {}): NewSubmission => ({
  id,
  ref: { platform: 'room', channel: 'form-check', message: id, thread: null },
  lane: `room/form-check/${id}`,
  file: { id: `file-${id}`, name: 'squat.mp4', contentType: 'video/mp4', bytes: 1000 },
  takeOf: null,
  root: id,
  authorId: 'juno',
  authorName: 'Juno',
  caption: 'Squat 100 kg x5',
  sentMs: 900,
  ...change,
});

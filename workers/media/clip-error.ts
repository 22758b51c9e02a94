import type { ClipErrorCode } from '../../src/queue/payload.ts';

/**
 * A clip that cannot be read, with the stable code for the log and the member's sentence.
 * `message` is for the log only; `retry` is true when the fault may pass (memory, time, disk) and never for a bad clip.
 */
export class ClipError extends Error {
  readonly code: ClipErrorCode;
  readonly retry: boolean;

  constructor(code: ClipErrorCode, message: string, more: { cause?: unknown; retry?: boolean } = {}) {
    super(message, { cause: more.cause });
    this.name = 'ClipError';
    this.code = code;
    this.retry = more.retry ?? false;
  }
}

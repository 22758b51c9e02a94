import { DiscordAPIError, HTTPError, RateLimitError } from 'discord.js';
import { PlatformError } from '../port.ts';

type Code = PlatformError['code'];

/** What to do when Discord does not take the token (any more). */
export const renewToken = 'the token is not taken: reset it in the developer portal, put it into DISCORD_TOKEN and restart';

/** A fault that trying again cannot mend. */
export function finalFailure(code: Code, message: string): PlatformError {
  return new PlatformError(code, message, { final: true, retryAfterMs: null });
}

/** A fault that may pass; `retryAfterMs` when Discord told how long. */
export function passingFailure(
  code: Code,
  message: string,
  retryAfterMs: number | null = null,
  options?: ErrorOptions,
): PlatformError {
  return new PlatformError(code, message, { final: false, retryAfterMs }, options);
}

function codeOf(error: DiscordAPIError): Code {
  if (error.status === 401 || error.status === 403) return 'forbidden';
  return error.status === 404 ? 'gone' : 'refused';
}

/** What went wrong, with what was behind it: fetch itself says no more than "fetch failed". */
function causesOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const own = `${error.name} ${'code' in error ? String(error.code) : ''} ${error.message}`.trim();
  return error.cause === undefined ? own : `${own}: ${causesOf(error.cause)}`;
}

/**
 * A fault of the REST client as a PlatformError. Its cause holds name, status and Discord's code only: the library's own errors carry the
 * request's body (captions) and address (interaction tokens), which must not reach a log.
 */
export function failureOf(error: unknown, what: string): PlatformError {
  if (error instanceof PlatformError) return error;
  if (error instanceof RateLimitError) {
    return passingFailure(
      'rate-limited',
      `${what}: rate limited`,
      Math.max(error.timeToReset, error.retryAfter, error.sublimitTimeout),
    );
  }
  if (error instanceof DiscordAPIError) {
    const told = 'message' in error.rawError ? error.rawError.message : error.rawError.error;
    const cause = Object.assign(new Error(`Discord answered ${error.status}, code ${error.code}: ${told}`), { code: error.code });
    const isRevoked = error.status === 401; // all waits for the operator's new token
    const message = `${what}: ${cause.message}${isRevoked ? `: ${renewToken}` : ''}`;
    return new PlatformError(codeOf(error), message, { final: !isRevoked, retryAfterMs: null }, { cause });
  }
  if (error instanceof HTTPError) return passingFailure('unreachable', `${what}: Discord answered ${error.status}`, null);
  const name = causesOf(error);
  return passingFailure('unreachable', `${what}: ${name}`, null, { cause: new Error(name) });
}

/** Discord's own error code behind a PlatformError (Discord docs, JSON error codes); null for other faults. */
export function discordCodeOf(error: unknown): number | null {
  const cause = error instanceof PlatformError ? error.cause : null;
  return cause instanceof Error && 'code' in cause && typeof cause.code === 'number' ? cause.code : null;
}

import { webApi } from '@slack/bolt';
import { PlatformError } from '../port.ts';

type Code = PlatformError['code'];

/** Slack's own words for a failure (`error` of an answer), by what they mean to the bot. From Slack's method pages. */
const meanings: Record<string, Code> = {
  ratelimited: 'rate-limited',
  rate_limited: 'rate-limited',
  internal_error: 'unreachable',
  fatal_error: 'unreachable',
  service_unavailable: 'unreachable',
  request_timeout: 'unreachable',
  team_added_to_org: 'unreachable',
  missing_scope: 'forbidden',
  not_in_channel: 'forbidden',
  user_not_in_channel: 'forbidden',
  not_allowed_token_type: 'forbidden',
  no_permission: 'forbidden',
  access_denied: 'forbidden',
  ekm_access_denied: 'forbidden',
  restricted_action: 'forbidden',
  restricted_action_read_only_channel: 'forbidden',
  restricted_action_thread_only_channel: 'forbidden',
  not_authed: 'forbidden',
  invalid_auth: 'forbidden',
  account_inactive: 'forbidden',
  token_revoked: 'forbidden',
  token_expired: 'forbidden',
  cant_update_message: 'forbidden',
  cant_delete_message: 'forbidden',
  file_uploads_disabled: 'forbidden',
  channel_not_found: 'gone',
  is_archived: 'gone',
  message_not_found: 'gone',
  thread_not_found: 'gone',
  file_not_found: 'gone',
  file_deleted: 'gone',
  user_not_found: 'gone',
};

/** The token is not taken (any more): all waits for the operator's new one. */
const tokenRefused = ['not_authed', 'invalid_auth', 'account_inactive', 'token_revoked', 'token_expired'];

const passing: Code[] = ['rate-limited', 'unreachable', 'not-ready'];

function fault(
  code: Code,
  message: string,
  retryAfterMs: number | null,
  cause: unknown,
  final = !passing.includes(code),
): PlatformError {
  return new PlatformError(code, message, { final, retryAfterMs }, { cause });
}

/** What Slack called the failure (`channel_not_found`), null when the request itself failed. */
export function slackErrorOf(error: unknown): string | null {
  const cause = error instanceof PlatformError ? error.cause : error;
  return cause instanceof webApi.WebAPIPlatformError ? cause.data.error : null;
}

/** What went wrong, with what was behind it: fetch itself says no more than "fetch failed", Slack's library keeps the cause in `original`. */
function causesOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const cause = error.cause ?? ('original' in error ? error.original : undefined);
  return cause === undefined ? error.message : `${error.message}: ${causesOf(cause)}`;
}

/**
 * Any failure of a Web API call as the port's error; an unknown word of Slack's is `refused`, a failed request `unreachable`. `variable`: of
 * the token that the call was made with.
 */
export function toPlatformError(error: unknown, variable = 'SLACK_BOT_TOKEN'): PlatformError {
  if (error instanceof PlatformError) return error;
  if (error instanceof webApi.WebAPIRateLimitedError) {
    return fault('rate-limited', 'Slack asks to wait', error.retryAfter * 1000, error);
  }
  if (error instanceof webApi.WebAPIPlatformError) {
    const { error: word, needed, response_metadata } = error.data as typeof error.data & { needed?: string };
    const code = meanings[word] ?? 'refused';
    const details = response_metadata?.messages?.join('; ');
    const missing = needed === undefined ? '' : ` (needed: ${needed})`;
    const retryAfter = response_metadata?.retryAfter;
    const isRevoked = tokenRefused.includes(word);
    const renew = isRevoked ? `: the token is not taken: put a new one into ${variable} and restart` : '';
    return fault(
      code,
      `Slack answered ${word}${missing}${details ? `: ${details}` : ''}${renew}`,
      retryAfter === undefined ? null : retryAfter * 1000,
      error,
      isRevoked ? false : undefined,
    );
  }
  if (error instanceof webApi.WebAPIHTTPError) return fromStatus(error.statusCode, null, error);
  return fault('unreachable', `Slack could not be reached: ${causesOf(error)}`, null, error);
}

/** An HTTP status other than success as the port's error. `retryAfter` is the header's text, seconds. */
export function fromStatus(status: number, retryAfter: string | null, cause?: unknown): PlatformError {
  const waitMs = retryAfter === null || !/^\d+$/.test(retryAfter) ? null : Number(retryAfter) * 1000;
  if (status === 429) return fault('rate-limited', 'Slack asks to wait', waitMs, cause);
  if (status === 401 || status === 403) return fault('forbidden', `Slack answered HTTP ${status}`, null, cause);
  if (status === 404 || status === 410) return fault('gone', `Slack answered HTTP ${status}`, null, cause);
  if (status >= 500 || status === 408) return fault('unreachable', `Slack answered HTTP ${status}`, waitMs, cause);
  return fault('refused', `Slack answered HTTP ${status}`, null, cause);
}

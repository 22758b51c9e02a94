import { isIP } from 'node:net';
import type { Context, MiddlewareHandler } from 'hono';

/** What the page may do: its own files, its own server, nothing inline. */
const policy = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob:",
  "media-src 'self' blob:",
  "connect-src 'self'",
  "form-action 'self'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
  "require-trusted-types-for 'script'",
].join('; ');

/** Whether an address to listen on is reachable from this machine only. */
export function isLoopback(host: string): boolean {
  return host === 'localhost' || host === '::1' || /^127(\.\d{1,3}){3}$/.test(host);
}

/** A refusal as the page and a script read it: `code` for programs, `message` for people. */
export function refuse(
  c: Context,
  status: 400 | 401 | 403 | 404 | 409 | 411 | 413 | 421 | 429 | 500 | 507,
  code: string,
  message: string,
): Response {
  return c.json({ code, message }, status);
}

/** Sets the headers that every answer of the room carries. */
export function securityHeaders(): MiddlewareHandler {
  return async (c, next) => {
    await next();
    const set = (name: string, value: string) => c.res.headers.has(name) || c.header(name, value);
    set('content-security-policy', policy);
    set('cache-control', 'no-store');
    c.header('x-content-type-options', 'nosniff');
    c.header('referrer-policy', 'no-referrer');
    c.header('cross-origin-opener-policy', 'same-origin');
    c.header('cross-origin-resource-policy', 'same-origin');
    c.header('x-frame-options', 'DENY');
    c.header('permissions-policy', 'camera=(), microphone=(), geolocation=()');
  };
}

/**
 * Refuses a request whose Host is not ours (DNS rebinding): on loopback only loopback names, elsewhere any literal address (which cannot be
 * rebound) and `publicHosts`. Refuses a changing request that another site sent (CSRF).
 */
export function requestGuard(bind: string, publicHosts: string[]): MiddlewareHandler {
  return async (c, next) => {
    const host = (c.req.header('host') ?? '').toLowerCase();
    const name = host.replace(/:\d+$/, '').replace(/^\[(.*)\]$/, '$1');
    const local = isLoopback(bind);
    const ours = name === 'localhost' || publicHosts.includes(name) || (local ? isLoopback(name) : isIP(name) !== 0);
    if (!ours)
      return refuse(
        c,
        421,
        'wrong-host',
        'This room does not answer to that name. Open it by the address it printed at its start.',
      );
    if (c.req.method !== 'GET' && c.req.method !== 'HEAD') {
      const site = c.req.header('sec-fetch-site');
      const origin = c.req.header('origin');
      // A form of ours that is sent under the referrer policy above has the origin "null"; the browser tells that it was ours all the same.
      const unnamed = origin === undefined || (origin === 'null' && site === 'same-origin');
      const sameOrigin = unnamed || (URL.canParse(origin) && new URL(origin).host === host);
      if (!sameOrigin || (site !== undefined && site !== 'same-origin'))
        return refuse(c, 403, 'other-site', 'This request came from another page. Nothing was done.');
    }
    return next();
  };
}

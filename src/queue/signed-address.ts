import { createHmac, timingSafeEqual } from 'node:crypto';

const signatureOf = (secret: string, id: string, expiresMs: number) =>
  createHmac('sha256', secret).update(`clip\n${id}\n${expiresMs}`).digest('base64url');

/** Address under `base` at which the clip of one submission can be fetched until `expiresMs` (ms since 1970). */
export function signAddress(base: string, secret: string, id: string, expiresMs: number): string {
  const url = new URL(`clips/${encodeURIComponent(id)}`, base.endsWith('/') ? base : `${base}/`);
  url.searchParams.set('expires', String(expiresMs));
  url.searchParams.set('signature', signatureOf(secret, id, expiresMs));
  return url.href;
}

/** Whether a signature was made by us for this submission and time, and the time has not passed. */
export function checkAddress(
  secret: string,
  id: string,
  expires: string,
  signature: string,
  nowMs: number,
): 'good' | 'expired' | 'forged' {
  const expected = Buffer.from(signatureOf(secret, id, Number(expires)));
  const given = Buffer.from(signature);
  if (!/^\d{1,15}$/.test(expires) || given.length !== expected.length || !timingSafeEqual(given, expected)) return 'forged';
  return nowMs < Number(expires) ? 'good' : 'expired';
}

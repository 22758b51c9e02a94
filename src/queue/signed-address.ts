import { createHmac, timingSafeEqual } from 'node:crypto';

/** What an address is worth: `used` once it gave the clip out whole, or when an earlier run of the bot signed it. */
export type AddressState = 'good' | 'forged' | 'expired' | 'used';

/** The parts of a signed address as they came in. */
export interface GivenAddress {
  id: string;
  expires: string;
  use: string;
  signature: string;
}

/** Signs addresses of clips and knows which were used. */
export interface ClipAddresses {
  /** An address under `base` for the clip of one submission, good for one fetch until it expires. */
  sign(base: string, id: string): string;
  /**
   * Takes an address for a fetch. A `good` one is used from now on, unless `giveBack` says that the clip did not go out whole; it
   * expires all the same.
   */
  take(given: GivenAddress): AddressState;
  giveBack(given: GivenAddress): void;
}

export interface ClipAddressesOptions {
  secret: string;
  expiresAfterMs: number;
  /** Names this run of the bot and no other. An address of an earlier run counts as used, for nobody remembers whether it was. */
  run: string;
  /** Milliseconds since 1970. */
  nowMs(): number;
}

/**
 * Addresses that are bound to one clip, one time and one use. A worker's next try at a clip finds its address used, says so, and the
 * bot puts the clip in again with a fresh one (bullmq.ts), so no address is worth anything once its clip was fetched.
 */
export function createClipAddresses({ secret, expiresAfterMs, run, nowMs }: ClipAddressesOptions): ClipAddresses {
  const signatureOf = (id: string, expires: string, use: string) =>
    createHmac('sha256', secret).update(`clip\n${id}\n${expires}\n${use}`).digest('base64url');
  const used = new Map<string, number>();
  let signed = 0;

  function forgetExpired(): void {
    for (const [use, expiresMs] of used) if (expiresMs <= nowMs()) used.delete(use);
  }

  return {
    sign(base, id) {
      signed += 1;
      const [expires, use] = [String(nowMs() + expiresAfterMs), `${run}.${signed}`];
      const url = new URL(`clips/${encodeURIComponent(id)}`, base.endsWith('/') ? base : `${base}/`);
      for (const [name, value] of Object.entries({ expires, use, signature: signatureOf(id, expires, use) }))
        url.searchParams.set(name, value);
      return url.href;
    },
    take({ id, expires, use, signature }) {
      const expected = Buffer.from(signatureOf(id, expires, use));
      const given = Buffer.from(signature);
      if (!/^\d{1,15}$/.test(expires) || given.length !== expected.length || !timingSafeEqual(given, expected)) return 'forged';
      if (nowMs() >= Number(expires)) return 'expired';
      if (used.has(use) || !use.startsWith(`${run}.`)) return 'used';
      forgetExpired();
      used.set(use, Number(expires));
      return 'good';
    },
    giveBack: ({ use }) => void used.delete(use),
  };
}

import { isIP } from 'node:net';
import { isLoopback } from './guard.ts';

/** Wrong tries that may come at once, and the wait in ms after which one more may: own choice, of one address and of all together. */
const ofOne = { atOnce: 5, everyMs: 30_000 };
const ofAll = { atOnce: 100, everyMs: 10_000 };

/** Most addresses remembered; the first that came are forgotten. Own choice, a bound for the memory. */
const maxAddresses = 5000;

interface Bucket {
  left: number;
  atMs: number;
}

/**
 * Whom a request comes from, as tries are counted: the peer's address, of IPv6 the first half (a home has a whole /64, RFC 6177). A peer on this
 * computer that passes requests on (a proxy) names the one it heard last.
 */
export function addressOf(peer: string | undefined, forwardedFor: string | undefined): string {
  const plain = (peer ?? '').replace(/^::ffff:/, '');
  const told = forwardedFor?.split(',').at(-1)?.trim() ?? '';
  const address = isLoopback(plain) && isIP(told) !== 0 ? told : plain;
  if (isIP(address) !== 6) return address;
  const [before = '', after] = address.toLowerCase().split('::');
  const head = before.split(':').filter((part) => part !== '');
  const rest = (after ?? '').split(':').filter((part) => part !== '');
  const zeros = after === undefined ? [] : Array.from({ length: 8 - head.length - rest.length }, () => '0');
  return [...head, ...zeros, ...rest].slice(0, 4).join(':');
}

/**
 * Counts wrong tries at the door, so that nobody can guess for long, and no stranger keeps others out: each address has tries of its own. Over
 * all there is a ceiling too (many addresses may work together); it goes only for addresses from which nobody came in yet.
 */
export function countTries(now: () => number) {
  const wrong = new Map<string, Bucket>();
  const known = new Set<string>();
  const all: Bucket = { left: ofAll.atOnce, atMs: now() };
  const fill = (bucket: Bucket, { atOnce, everyMs }: typeof ofOne) => {
    const sinceMs = Math.max(0, now() - bucket.atMs); // less: the clock was set back
    bucket.left = Math.min(atOnce, bucket.left + sinceMs / everyMs);
    bucket.atMs = now();
    return bucket;
  };
  const trim = (kept: Map<string, unknown> | Set<string>) => {
    for (const address of kept.keys()) {
      if (kept.size <= maxAddresses) return;
      kept.delete(address);
    }
  };
  const own = (address: string) => fill(wrong.get(address) ?? { left: ofOne.atOnce, atMs: now() }, ofOne);

  return {
    /** Whether a try of this address is looked at. */
    mayTry: (address: string) => own(address).left >= 1 && (known.has(address) || fill(all, ofAll).left >= 1),
    wrong(address: string): void {
      const bucket = own(address);
      bucket.left -= 1;
      fill(all, ofAll).left = Math.max(0, all.left - 1);
      wrong.delete(address);
      wrong.set(address, bucket);
      trim(wrong);
    },
    cameIn(address: string): void {
      known.delete(address);
      known.add(address);
      trim(known);
    },
  };
}

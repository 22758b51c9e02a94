/** Numbers of one seed, always the same. */
export interface Random {
  /** 0 (included) .. 1 (excluded). */
  next(): number;
  /** Whole number, both ends included. */
  int(from: number, to: number): number;
  chance(share: number): boolean;
  pick<T>(list: readonly T[]): T;
}

/** The generator "mulberry32" (public domain, from memory), 32 bits of state. */
export function createRandom(seed: number): Random {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return {
    next,
    int: (from, to) => from + Math.floor(next() * (to - from + 1)),
    chance: (share) => next() < share,
    pick: (list) => list[Math.floor(next() * list.length)] as (typeof list)[number],
  };
}

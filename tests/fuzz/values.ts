import { deflateSync } from 'node:zlib';
import type { Random } from '../faults/random.ts';

const edges = [
  0, 1, 2, 7, 8, 15, 16, 0x7f, 0x80, 0xff, 0x100, 0x7fff, 0x8000, 0xffff, 0x10000, 0xffffff, 0x7fffffff, 0x80000000, 0xfffffff0,
  0xffffffff,
];

/** A whole number of 32 bits that readers get wrong: an edge, one off an edge, near `old`, or anything. */
export function oddNumber(random: Random, old = 0): number {
  const found = random.pick([
    () => random.pick(edges),
    () => random.pick(edges) + random.pick([-1, 1]),
    () => old + random.int(-16, 16),
    () => old * random.pick([2, 3, 16, 1000]),
    () => random.int(0, 0xffffffff),
  ])();
  return found >>> 0;
}

export const randomBytes = (random: Random, length: number) => Buffer.from(Array.from({ length }, () => random.int(0, 255)));

/** Cuts `length` bytes at `at` out and puts `more` there. */
export const splice = (data: Buffer, at: number, length: number, more: Buffer) =>
  Buffer.concat([data.subarray(0, at), more, data.subarray(at + length)]);

const bombs = new Map<number, Buffer>();

/** Zeros packed by zlib, up to 30 MB of them. */
export function bomb(random: Random): Buffer {
  const bytes = random.pick([1e4, 1e6, 3e7]);
  const packed = bombs.get(bytes) ?? deflateSync(Buffer.alloc(bytes));
  bombs.set(bytes, packed);
  return packed;
}

/** What a hostile file may point at: an address of the trap, a file beside the clip. */
export interface Lures {
  address: string;
  file: string;
}

/** One way to harm a file. Gives null when the file has nothing to harm in this way. `name` is for the report. */
export interface Mutator {
  name: string;
  change(data: Buffer, random: Random, lures: Lures): Buffer | null;
}

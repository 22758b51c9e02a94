import type { Random } from '../faults/random.ts';
import { bomb, type Lures, type Mutator, oddNumber, randomBytes, splice } from './values.ts';

/** A box of an ISO base media file (ISO/IEC 14496-12, 4.2): [at, end) with its header, and the boxes around it, outermost first. */
export interface Box {
  type: string;
  at: number;
  body: number;
  end: number;
  around: Box[];
}

/** Bytes before the first child: version, flags and a count; a sample entry of video has 78 of its own (ISO/IEC 14496-12, 12.1.3). */
const before: Record<string, number> = {
  ...Object.fromEntries('moov trak mdia minf stbl dinf edts udta moof traf mvex mfra'.split(' ').map((type) => [type, 0])),
  ...{ meta: 4, stsd: 8, dref: 8, avc1: 78, hvc1: 78, hev1: 78, vp09: 78, av01: 78 },
};
const types = [
  ...Object.keys(before),
  ...'stts ctts stsc stsz stco co64 stss elst tkhd mvhd mdhd hdlr avcC hvcC trun tfhd tfdt sidx mdat free ftyp uuid cmov rmra'.split(
    ' ',
  ),
];

/** All boxes of a file, outer before inner; stops where the sizes make no sense. */
export function boxesOf(data: Buffer, from = 0, to = data.length, around: Box[] = []): Box[] {
  const found: Box[] = [];
  for (let at = from; at + 8 <= to && around.length < 12; ) {
    const size = data.readUInt32BE(at);
    const end = size === 0 ? to : at + size;
    if (size !== 0 && (size < 8 || end > to)) break;
    const type = data.toString('latin1', at + 4, at + 8);
    const box: Box = { type, at, body: at + 8, end, around };
    found.push(box);
    const skip = before[type];
    if (skip !== undefined) found.push(...boxesOf(data, at + 8 + skip, end, [...around, box]));
    at = end;
  }
  return found;
}

/** A box of a type around a body. */
export function box(type: string, ...body: Buffer[]): Buffer {
  const all = Buffer.concat([Buffer.alloc(8), ...body]);
  all.writeUInt32BE(all.length);
  all.write(type, 4, 'latin1');
  return all;
}

/** Puts `more` in place of [at, at + length) and grows the sizes of the boxes around it, so that only the change itself is wrong. */
function spliceInside(data: Buffer, around: readonly Box[], at: number, length: number, more: Buffer): Buffer {
  const changed = splice(data, at, length, more);
  for (const outer of around) changed.writeUInt32BE((outer.end - outer.at + more.length - length) >>> 0, outer.at);
  return changed;
}

/** Boxes that name another file or address, or unpack to much: data references (8.7.2), a reference movie and a packed header of QuickTime. */
function trap(random: Random, { address, file }: Lures): Buffer {
  const target = Buffer.from(
    `${random.pick([address, file, `file:${file}`, `concat:${file}`, `subfile,,start,0,end,0,,:${file}`])}\0`,
  );
  const packed = bomb(random);
  const size = Buffer.alloc(4);
  size.writeUInt32BE(oddNumber(random, 3e7));
  return random.pick([
    () => box('dref', Buffer.from([0, 0, 0, 0, 0, 0, 0, 1]), box('url ', Buffer.alloc(4), target)),
    () => box('dref', Buffer.from([0, 0, 0, 0, 0, 0, 0, 1]), box('alis', Buffer.alloc(4), randomBytes(random, 150), target)),
    () => box('rmra', box('rmda', box('rdrf', Buffer.alloc(4), Buffer.from('url '), size, target))),
    () => box('cmov', box('dcom', Buffer.from('zlib')), box('cmvd', size, packed)),
    () => box('moov', box('cmov', box('dcom', Buffer.from('zlib')), box('cmvd', size, packed))),
    () => box('uuid', randomBytes(random, 16), target),
  ])();
}

const pick = (data: Buffer, random: Random) => {
  const all = boxesOf(data);
  return all.length === 0 ? null : random.pick(all);
};

/** Harm to the boxes themselves. */
export const isoBoxes: Mutator[] = [
  {
    name: 'box size',
    change(data, random) {
      const one = pick(data, random);
      if (one === null) return null;
      const changed = Buffer.from(data);
      changed.writeUInt32BE(oddNumber(random, one.end - one.at), one.at);
      return changed;
    },
  },
  {
    name: 'box size of 64 bits',
    change(data, random) {
      const one = pick(data, random);
      if (one === null) return null;
      const large = Buffer.alloc(8);
      large.writeUInt32BE(random.pick([0, 1, 0x7fffffff, 0xffffffff]), 0);
      large.writeUInt32BE(oddNumber(random, one.end - one.at + 8), 4);
      const changed = spliceInside(data, one.around, one.body, 0, large);
      changed.writeUInt32BE(1, one.at);
      return changed;
    },
  },
  {
    name: 'box type',
    change(data, random) {
      const one = pick(data, random);
      if (one === null) return null;
      const changed = Buffer.from(data);
      changed.write(random.pick(types), one.at + 4, 'latin1');
      return changed;
    },
  },
  {
    name: 'box gone',
    change(data, random) {
      const one = pick(data, random);
      return one && spliceInside(data, random.chance(0.7) ? one.around : [], one.at, one.end - one.at, Buffer.alloc(0));
    },
  },
  {
    name: 'box again',
    change(data, random) {
      const one = pick(data, random);
      if (one === null || one.end - one.at > 4000) return null;
      const copies = Buffer.concat(Array.from({ length: random.pick([1, 2, 40, 400]) }, () => data.subarray(one.at, one.end)));
      return spliceInside(data, random.chance(0.8) ? one.around : [], one.end, 0, copies);
    },
  },
  {
    name: 'box cut off',
    change(data, random) {
      const one = pick(data, random);
      return one && data.subarray(0, random.int(one.at + 1, one.end));
    },
  },
  {
    name: 'box filled',
    change(data, random) {
      const one = pick(data, random);
      if (one === null) return null;
      const length = Math.min(one.end - one.body, 5000);
      const filling = random.pick([randomBytes(random, length), Buffer.alloc(length), Buffer.alloc(length, 0xff)]);
      return splice(data, one.body, length, filling);
    },
  },
  {
    name: 'box nested',
    change(data, random) {
      const one = pick(data, random);
      if (one === null || one.end - one.at > 20_000) return null;
      const type = random.chance(0.5) ? one.type : random.pick(Object.keys(before));
      let nested: Buffer = data.subarray(one.at, one.end);
      for (let depth = random.pick([1, 3, 30, 300, 1500]); depth > 0; depth--)
        nested = box(type, Buffer.alloc(random.chance(0.9) ? (before[type] ?? 0) : 0), nested);
      return spliceInside(data, one.around, one.at, one.end - one.at, nested);
    },
  },
  {
    name: 'box with a reference',
    change(data, random, lures) {
      const all = boxesOf(data);
      const place = random.chance(0.5) ? all.find(({ type }) => type === 'dref') : pick(data, random);
      if (place === undefined || place === null) return null;
      const inside = random.chance(0.5);
      return spliceInside(data, place.around, place.at, inside ? place.end - place.at : 0, trap(random, lures));
    },
  },
];

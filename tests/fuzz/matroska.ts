import type { Random } from '../faults/random.ts';
import { bomb, type Mutator, oddNumber, randomBytes, splice } from './values.ts';

/** An EBML element (RFC 8794): [at, end) with id and size, the body from `body`; `sizeAt` is where the size is written. */
interface Element {
  id: string;
  at: number;
  sizeAt: number;
  body: number;
  end: number;
}

/** Elements that hold others (RFC 9559): header, segment, info, tracks, entry, video, cluster, group, cues, point, positions, tags, tag, seek. */
const masters = new Set(
  '1a45dfa3 18538067 1549a966 1654ae6b ae e0 1f43b675 a0 1c53bb6b bb b7 1254c367 7373 67c8 114d9b74 4dbb 6d80 6240 5034'.split(
    ' ',
  ),
);
/** Ids that carry numbers a reader believes: scale, duration, track, size, place, time, block. */
const numbers = new Set('2ad7b1 4489 d7 b0 ba 54b0 54ba e7 a3 a1 9b f1 53ac b3 f7 42f2 42f3 23e383 55b0'.split(' '));

const widthOf = (first: number) => (first === 0 ? 0 : Math.clz32(first) - 23);

/** All elements of a file, outer before inner; stops where the sizes make no sense. */
function elementsOf(data: Buffer, from = 0, to = data.length, depth = 0): Element[] {
  const found: Element[] = [];
  for (let at = from; at + 2 <= to && depth < 10; ) {
    const idWidth = widthOf(data[at]!);
    const sizeAt = at + idWidth;
    if (idWidth === 0 || idWidth > 4 || sizeAt >= to) break;
    const sizeWidth = widthOf(data[sizeAt]!);
    if (sizeWidth === 0 || sizeAt + sizeWidth > to) break;
    let size = data[sizeAt]! & (0xff >> sizeWidth);
    let isUnknown = size === 0xff >> sizeWidth;
    for (let i = 1; i < sizeWidth; i++) {
      size = size * 256 + data[sizeAt + i]!;
      isUnknown &&= data[sizeAt + i] === 0xff;
    }
    const body = sizeAt + sizeWidth;
    const end = isUnknown ? to : body + size;
    if (end > to) break;
    const id = data.toString('hex', at, sizeAt);
    found.push({ id, at, sizeAt, body, end });
    if (masters.has(id)) found.push(...elementsOf(data, body, end, depth + 1));
    at = end;
  }
  return found;
}

/** An element with a size of eight bytes. */
function element(id: string, ...body: Buffer[]): Buffer {
  const content = Buffer.concat(body);
  const size = Buffer.alloc(8);
  size.writeBigUInt64BE(BigInt(content.length) | (1n << 56n));
  return Buffer.concat([Buffer.from(id, 'hex'), size, content]);
}

/** Encodings of a track (RFC 9559, 5.1.4.1.31): packed by zlib, bzip2, LZO or with bytes left off, or encrypted. */
const encodings = (random: Random) =>
  element(
    '6d80',
    element(
      '6240',
      element('5033', Buffer.from([random.pick([0, 1])])),
      element('5032', Buffer.from([random.pick([1, 2, 4])])),
      element(
        '5034',
        element('4254', Buffer.from([random.int(0, 3)])),
        element('4255', randomBytes(random, random.pick([1, 4, 5000]))),
      ),
    ),
  );

const change = (
  name: string,
  work: (data: Buffer, one: Element, random: Random) => Buffer | null,
  only?: (one: Element) => boolean,
): Mutator => ({
  name,
  change(data, random) {
    const all = elementsOf(data).filter((one) => only?.(one) ?? true);
    return all.length === 0 ? null : work(data, random.pick(all), random);
  },
});

/** Harm to the elements of Matroska and WebM. Sizes of outer elements are not mended: most readers go on by the inner ones. */
export const matroska: Mutator[] = [
  change('element size', (data, { sizeAt, body }, random) => {
    const size = Buffer.alloc(8);
    const value = random.chance(0.2) ? (1n << 56n) - 1n : BigInt(oddNumber(random, 100)) * random.pick([1n, 1n, 65536n]);
    size.writeBigUInt64BE((value & ((1n << 56n) - 1n)) | (1n << 56n));
    if (random.chance(0.5)) return splice(data, sizeAt, body - sizeAt, size);
    const changed = Buffer.from(data);
    changed[sizeAt] = random.int(0, 255);
    return changed;
  }),
  change('element id', (data, { at, sizeAt }, random) =>
    splice(data, at, sizeAt - at, Buffer.from(random.pick([...masters, ...numbers]), 'hex')),
  ),
  change('element gone', (data, { at, end }) => splice(data, at, end - at, Buffer.alloc(0))),
  change('element again', (data, { at, end }, random) =>
    end - at > 4000
      ? null
      : splice(data, end, 0, Buffer.concat(Array.from({ length: random.pick([1, 3, 50, 500]) }, () => data.subarray(at, end)))),
  ),
  change('element cut off', (data, { at, end }, random) => data.subarray(0, random.int(at + 1, Math.max(at + 1, end)))),
  change('element filled', (data, { body, end }, random) =>
    splice(data, body, Math.min(end - body, 4000), randomBytes(random, Math.min(end - body, 4000))),
  ),
  change('element nested', (data, { at, end, id }, random) => {
    if (end - at > 20_000) return null;
    let nested: Buffer = data.subarray(at, end);
    for (let depth = random.pick([1, 3, 30, 300, 1500]); depth > 0; depth--)
      nested = element(random.chance(0.5) ? id : random.pick([...masters]), nested);
    return splice(data, at, end - at, nested);
  }),
  change(
    'element number',
    (data, { body, end }, random) => {
      const changed = Buffer.from(data);
      for (let at = body; at < Math.min(end, body + 8); at++)
        if (random.chance(0.5)) changed[at] = random.pick([0, 1, 0x7f, 0x80, 0xff, random.int(0, 255)]);
      return changed;
    },
    ({ id }) => numbers.has(id),
  ),
  change(
    'encodings',
    (data, { body }, random) => splice(data, body, 0, encodings(random)),
    ({ id }) => id === 'ae',
  ),
  change(
    'packed block',
    (data, { body, end }, random) => {
      const packed = bomb(random);
      return splice(data, body + 4, Math.max(0, end - body - 4), packed.subarray(0, Math.max(0, end - body - 4)));
    },
    ({ id }) => id === 'a3' || id === 'a1',
  ),
  change(
    'lacing',
    (data, { body, end }, random) => {
      if (end - body < 6) return null;
      const changed = Buffer.from(data);
      changed[body + 3] = random.int(0, 255); // flags: two bits of lacing (RFC 9559, 10.2)
      changed[body + 4] = random.int(0, 255);
      return changed;
    },
    ({ id }) => id === 'a3' || id === 'a1',
  ),
];
